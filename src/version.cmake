# RC_VERSION: what the build calls itself, "0.1.0+abc1234", with "-dirty" where tracked files differ from that commit. Stores keep
# it, so that two builds are told apart. Outside git (a tarball) it is the project's version alone. Taken at configure time; a
# commit or a checkout configures anew.
set(RC_VERSION ${PROJECT_VERSION})
find_package(Git QUIET)
if(Git_FOUND AND EXISTS ${CMAKE_SOURCE_DIR}/.git)
  execute_process(COMMAND ${GIT_EXECUTABLE} rev-parse --short HEAD WORKING_DIRECTORY ${CMAKE_SOURCE_DIR}
    OUTPUT_VARIABLE rc_commit RESULT_VARIABLE rc_failed OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET)
  if(NOT rc_failed)
    string(APPEND RC_VERSION "+${rc_commit}")
    execute_process(COMMAND ${GIT_EXECUTABLE} --no-optional-locks status --porcelain --untracked-files=no
      WORKING_DIRECTORY ${CMAKE_SOURCE_DIR} OUTPUT_VARIABLE rc_changes ERROR_QUIET)
    if(rc_changes)
      string(APPEND RC_VERSION "-dirty")
    endif()
    execute_process(COMMAND ${GIT_EXECUTABLE} rev-parse --git-path logs/HEAD WORKING_DIRECTORY ${CMAKE_SOURCE_DIR}
      OUTPUT_VARIABLE rc_log OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET)
    get_filename_component(rc_log "${rc_log}" ABSOLUTE BASE_DIR ${CMAKE_SOURCE_DIR})
    if(EXISTS ${rc_log})
      set_property(DIRECTORY ${CMAKE_SOURCE_DIR} APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${rc_log})
    endif()
  endif()
endif()
message(STATUS "Version ${RC_VERSION}")
