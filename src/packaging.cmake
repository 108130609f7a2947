# What `cmake --install` puts where, the pkg-config file, and the Debian package that `cpack -G DEB` makes of the same.
include(GNUInstallDirs)

# The man pages are made of docs/commands.md, a page for each command and one for the program.
set(man_pages ${CMAKE_BINARY_DIR}/man)
add_custom_command(OUTPUT ${man_pages}/rollcast.1
  COMMAND ${CMAKE_COMMAND} -E make_directory ${man_pages}
  COMMAND awk -v folder=${man_pages} -v version=${PROJECT_VERSION} -f ${CMAKE_SOURCE_DIR}/docs/man.awk ${CMAKE_SOURCE_DIR}/docs/commands.md
  DEPENDS ${CMAKE_SOURCE_DIR}/docs/man.awk ${CMAKE_SOURCE_DIR}/docs/commands.md
  VERBATIM)
add_custom_target(man ALL DEPENDS ${man_pages}/rollcast.1)

# The library is static: who links it links what it needs.
set(RC_PC_LIBS "${HDF5_C_LIBRARY_hdf5_hl} ${HDF5_C_LIBRARY_hdf5} ${OpenMP_C_FLAGS} -lm")
foreach(library ${MPI_C_LIBRARIES})
  string(APPEND RC_PC_LIBS " ${library}")
endforeach()
if(RC_SANITIZE)
  string(APPEND RC_PC_LIBS " -fsanitize=${RC_SANITIZE}")
endif()
configure_file(${CMAKE_SOURCE_DIR}/src/rollcast.pc.in ${CMAKE_BINARY_DIR}/rollcast.pc @ONLY)

install(TARGETS rollcast RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(TARGETS rollcast_library ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR})
install(DIRECTORY ${CMAKE_SOURCE_DIR}/include/rollcast DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} FILES_MATCHING PATTERN "*.h")
install(FILES ${CMAKE_BINARY_DIR}/rollcast.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig)
install(DIRECTORY ${man_pages}/ DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 FILES_MATCHING PATTERN "*.1")
install(FILES ${CMAKE_SOURCE_DIR}/src/cli/completion.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions RENAME rollcast)
install(DIRECTORY ${CMAKE_SOURCE_DIR}/campaigns DESTINATION ${CMAKE_INSTALL_DATADIR}/rollcast
  FILES_MATCHING PATTERN "*.json" PATTERN "*.csv" PATTERN "*.md")
install(DIRECTORY ${CMAKE_SOURCE_DIR}/docs/ DESTINATION ${CMAKE_INSTALL_DOCDIR} FILES_MATCHING
  PATTERN "*.md" PATTERN "*.c" PATTERN "*.sbatch" PATTERN "*.json" PATTERN "*.svg")

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME rollcast)
set(CPACK_PACKAGE_VENDOR "Rollcast maintainers")
set(CPACK_PACKAGE_CONTACT "Rollcast maintainers <maintainers@users.noreply.example>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "${PROJECT_DESCRIPTION}")
set(CPACK_PACKAGE_FILE_NAME rollcast-${PROJECT_VERSION})
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS gnuplot-nox)
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "libcjson-dev, libhdf5-dev, bash-completion")
include(CPack)
