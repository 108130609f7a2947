# What every module is built with, and the one function that declares a module.

add_library(rc_warnings INTERFACE)
target_compile_options(rc_warnings INTERFACE -Wall -Wextra -Wconversion -Wshadow -Wvla -Wpointer-arith -Wno-unknown-pragmas
  $<$<COMPILE_LANGUAGE:C>:-Wstrict-prototypes> $<$<COMPILE_LANGUAGE:C>:-Wmissing-prototypes> $<$<BOOL:${RC_WERROR}>:-Werror>)

# clang says of every lane loop that it could not vectorise; under sanitizers that is all of them. The bench tells speed.
if(CMAKE_C_COMPILER_ID MATCHES "Clang")
  target_compile_options(rc_warnings INTERFACE -Wno-pass-failed)
endif()

# Bits must not depend on the instruction set: no contraction, no reassociation. The two relaxations below do not change
# any result; they let the compiler vectorise selects and square roots. gcc 12 fuses multiplications with additions and
# subtractions in the basic-block vectoriser even so (tests/bench/vector_report.py looks for it), so that one stays off.
add_library(rc_math INTERFACE)
target_compile_options(rc_math INTERFACE -ffp-contract=off -fno-tree-slp-vectorize -fno-math-errno
  -fno-trapping-math -fopenmp-simd)
target_compile_definitions(rc_math INTERFACE RC_LANES=${RC_LANES})

add_library(rc_sanitize INTERFACE)
if(RC_SANITIZE)
  target_compile_options(rc_sanitize INTERFACE -fsanitize=${RC_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all)
  target_link_options(rc_sanitize INTERFACE -fsanitize=${RC_SANITIZE})
  set(RC_DISPATCH OFF)
endif()
if(RC_DISPATCH)
  target_compile_definitions(rc_math INTERFACE RC_DISPATCH=1)
endif()

# rc_module(NAME SOURCES files... [USES modules...] [LINKS libraries...] [PUBLIC headers...])
# An object library that sees the public headers, the source root and the modules it names; nothing else is linked in.
function(rc_module name)
  cmake_parse_arguments(M "" "" "SOURCES;USES;LINKS" ${ARGN})
  add_library(rc_${name} OBJECT ${M_SOURCES})
  target_include_directories(rc_${name} PUBLIC ${CMAKE_SOURCE_DIR}/include ${CMAKE_SOURCE_DIR}/src)
  target_compile_definitions(rc_${name} PRIVATE _POSIX_C_SOURCE=200809L)
  target_link_libraries(rc_${name} PRIVATE rc_warnings ${M_LINKS})
  target_link_libraries(rc_${name} PUBLIC rc_math rc_sanitize)
  set_property(GLOBAL APPEND PROPERTY RC_MODULES rc_${name})
  set_property(GLOBAL APPEND PROPERTY RC_LINKS ${M_LINKS})
endfunction()
