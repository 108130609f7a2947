"""Each lint must be able to fail: it is fed a small sound tree, which passes, and then the same tree with one thing wrong.

usage: selftest.py COMPILER"""
import os
import subprocess
import sys
import tempfile
import unittest

import guides
import header_docs
import layers
import paths
import sizes
import symbols

GUIDE = """# Guide
## Order of modules
| module | public header | may include | open headers | third-party |
|---|---|---|---|---|
| `base` | `rollcast/status.h` | | `base.h` | |
| `store` | `rollcast/results.h` | `base` | `store.h` | `hdf5.h` |
| `batch` | | `base` `store` | | `omp.h` |
| `cli` | | | | |
## Configurations
`-DRC_WERROR=ON` and `--asan`, see `src/base/base.h`.
"""
SOUND = {
    "DEVELOPERS.md": GUIDE,
    "README.md": "| 0 | done |\n| 3 | bad input |\n",
    "CMakeLists.txt": 'option(RC_WERROR "Warnings are errors" OFF)\n',
    "tests/run.sh": "  --asan       sanitizers\n",
    "include/rollcast/status.h": "/* Status. */\n/* Text. */\nconst char *rc_status_text(int status);\n",
    "include/rollcast/results.h": "/* Results. */\n#include \"rollcast/status.h\"\n",
    "src/base/base.h": "/* Front. */\n#include <stdio.h>\n#include \"rollcast/status.h\"\n",
    "src/base/status.def": "RC_STATUS(OK, 0, \"done\")\nRC_STATUS(BAD_INPUT, 3, \"bad\")\n",
    "src/base/status.c": "/* Texts. */\n#include \"base.h\"\n\nconst char *rc_status_text(int status)\n{\n"
                         "    return status ? \"bad\" : \"done\";\n}\n",
    "src/store/store.h": "/* Front. */\n#include \"base/base.h\"\n",
    "src/store/disk.c": "/* Disk. */\n#include <hdf5.h>\n#include \"store/store.h\"\n",
    "src/batch/run.c": "/* Run. */\n#include <omp.h>\n#include \"store/store.h\"\n",
    "src/cli/main.c": "/* Commands. */\n#include \"rollcast/results.h\"\n",
}


class Lints(unittest.TestCase):
    """One sound tree in a scratch folder, and changes to it."""

    compiler = "cc"

    def setUp(self):
        self.scratch = tempfile.TemporaryDirectory()
        self.root = self.scratch.name
        for path, content in SOUND.items():
            self.write(path, content)

    def tearDown(self):
        self.scratch.cleanup()

    def write(self, path, content):
        whole = os.path.join(self.root, path)
        os.makedirs(os.path.dirname(whole), exist_ok=True)
        with open(whole, "w", encoding="utf-8") as file:
            file.write(content)

    def expect(self, lint, *fragments):
        """The lint finds exactly one problem for each fragment, which stands in it."""
        problems = lint(self.root)
        self.assertEqual(len(problems), len(fragments), problems)
        for fragment in fragments:
            self.assertTrue(any(fragment in problem for problem in problems), (fragment, problems))

    def test_sound_tree_passes(self):
        for lint in (layers.lint, sizes.lint, header_docs.lint, guides.lint, paths.lint):
            self.assertEqual(lint(self.root), [])

    def test_layers_upward_include_is_found(self):
        self.write("src/base/status.c", "/* Texts. */\n#include \"store/store.h\"\n")
        self.expect(layers.lint, "base may not include store")

    def test_layers_upward_public_include_is_found(self):
        self.write("src/base/status.c", "/* Texts. */\n#include \"rollcast/results.h\"\n")
        self.expect(layers.lint, "base may not see")

    def test_layers_private_header_is_found(self):
        self.write("src/store/journal.h", "/* Journal. */\n")
        self.write("src/batch/run.c", "/* Run. */\n#include \"store/journal.h\"\n")
        self.expect(layers.lint, "private to store")

    def test_layers_command_line_seeing_a_module_is_found(self):
        self.write("src/cli/main.c", "/* Commands. */\n#include \"base/base.h\"\n")
        self.expect(layers.lint, "cli may not include base")

    def test_layers_third_party_elsewhere_is_found(self):
        self.write("src/batch/run.c", "/* Run. */\n#include <hdf5.h>\n")
        self.expect(layers.lint, "<hdf5.h>")

    def test_layers_threads_elsewhere_are_found(self):
        self.write("src/store/disk.c", "/* Disk. */\n#pragma omp parallel for\n#pragma omp simd\n")
        self.expect(layers.lint, "OpenMP directive")

    def test_layers_unknown_folder_is_found(self):
        self.write("src/extra/extra.c", "/* Extra. */\n")
        self.expect(layers.lint, "folder extra")

    def test_layers_absent_header_is_found(self):
        self.write("src/base/status.c", "/* Texts. */\n#include \"gone.h\"\n")
        self.expect(layers.lint, "does not exist")

    def test_layers_without_table_fail(self):
        self.write("DEVELOPERS.md", "# Guide\n")
        self.expect(layers.lint, "no table")

    def test_paths_that_no_table_knows_are_found(self):
        self.write("src/campaign/settings.def", 'RC_SETTING("drive.kind", CHOICE)\n')
        self.write("src/campaign/quantities.def", 'RC_QUANTITY("fins[].cant_deg", "deg")\nRC_QUANTITY("drive.floor_dps", "deg/s")\n')
        self.write("src/campaign/review.c", "/* Review. */\nstatic const char *const usual[] = {\"fins[].cant_deg\"};\nint x = is_given(reader, "
                                            "\"drive.floor_dps\") + is_given(reader, \"drive\");\n")
        self.expect(paths.lint)
        self.write("src/campaign/review.c", "/* Review. */\nstatic const char *const usual[] = {\"fins[].cant\"};\nint x = is_given(reader,\n    "
                                            "\"drive.flor_dps\");\n")
        self.expect(paths.lint, "drive.flor_dps", "fins[].cant")

    def test_sizes_long_function_is_found(self):
        body = "    ;\n" * 79
        self.write("src/base/status.c", "/* Texts. */\nvoid rc_status_long(void)\n{\n" + body + "}\n")
        self.expect(sizes.lint, "rc_status_long has 81 lines")

    def test_sizes_long_file_and_line_are_found(self):
        self.write("src/base/status.c", "/* Texts. */\n" + "int x;\n" * 600 + "/* " + "x" * 130 + " */\n")
        self.expect(sizes.lint, "602 lines", "136 columns")

    def test_sizes_name_twice_is_found(self):
        self.write("src/store/status.c", "/* Again. */\n")
        self.expect(sizes.lint, "status.c: the name stands 2 times")

    def test_sizes_front_header_may_bear_the_public_name(self):
        self.write("include/rollcast/store.h", "/* Public. */\n")
        self.expect(sizes.lint)

    def test_sizes_stray_top_entry_is_found(self):
        self.write("notes/plan.md", "text\n")
        self.expect(sizes.lint, "notes: does not belong")

    def test_sizes_machine_path_is_found(self):
        self.write("docs/use.md", "see /ho" + "me/someone/file\n")
        self.expect(sizes.lint, "a path of one machine")

    def test_sizes_merge_mark_is_found(self):
        self.write("docs/use.md", "one\n" + "<" * 7 + " HEAD\ntwo\n=======\nthree\n" + ">" * 7 + " other\n")
        self.expect(sizes.lint, "docs/use.md:2: left by a merge", "docs/use.md:6: left by a merge")

    def test_sizes_case_of_another_file_is_found(self):
        self.write("tests/unit/base/test_status.c", "/* Cases. */\nstatic void test_version__is_there(void **state)\n{\n}\n")
        self.expect(sizes.lint, "the case test_version__is_there does not begin with test_status__")

    def test_sizes_brace_and_head_comment_are_found(self):
        self.write("src/base/status.c", "#include \"base.h\"\nint rc_status_x(void) {\n    return 1;\n}\n")
        self.expect(sizes.lint, "brace stands alone", "does not begin with a comment")

    def test_header_docs_bare_prototype_is_found(self):
        self.write("src/base/base.h", "/* Front. */\n\nint rc_status_bare(int a,\n                   int b);\n")
        self.expect(header_docs.lint, "rc_status_bare has no comment")

    def test_header_docs_bare_inline_function_is_found(self):
        self.write("src/base/base.h", "/* Front. */\n\nstatic inline int rc_base_x(void)\n{\n    return f(1);\n}\n")
        self.expect(header_docs.lint, "rc_base_x has no comment")

    def test_header_docs_group_under_one_comment_passes(self):
        self.write("src/base/base.h", "/* Front. */\n\n/* Two. */\nint rc_base_a(void);\nint rc_base_b(void);\n\nint rc_base_c(void);\n")
        self.expect(header_docs.lint, "rc_base_c has no comment")

    def test_guides_absent_file_is_found(self):
        self.write("docs/testing.md", "`tests/gone.c` and [here](../README.md) and [there](gone.md)\n")
        self.expect(guides.lint, "tests/gone.c", "docs/gone.md")

    def test_guides_unexplained_option_is_found(self):
        self.write("tests/run.sh", "  --asan       sanitizers\n  --new        thing\n")
        self.expect(guides.lint, "--new")

    def test_guides_unlisted_exit_code_is_found(self):
        self.write("src/base/status.def", "RC_STATUS(IO, 4, \"bad\")\n")
        self.expect(guides.lint, "exit code 4")

    def compile(self, module, name, source):
        """Compile a source to where a build would put its object."""
        self.write(f"src/{module}/{name}.c", source)
        folder = os.path.join(self.root, "b", "src", module, "CMakeFiles", f"rc_{module}.dir")
        os.makedirs(folder, exist_ok=True)
        subprocess.run([self.compiler, "-fPIC", "-O1", "-c", os.path.join(self.root, "src", module, name + ".c"), "-o",
                        os.path.join(folder, name + ".c.o")], check=True)

    def lint_symbols(self, root):
        return symbols.lint(root, os.path.join(root, "b"))

    def test_symbols_sound_object_passes(self):
        self.compile("base", "disk_row", "/* x */\nstruct kind { int (*f)(void); };\nstatic int f(void) { return 1; }\n"
                     "const struct kind rc_disk_kind = { f };\nint rc_disk_row(void);\nint rc_disk_row(void) { return f(); }\n")
        self.expect(self.lint_symbols)

    def test_symbols_foreign_prefix_is_found(self):
        self.compile("base", "disk_row", "int rc_other_row(void) { return 1; }\n")
        self.expect(self.lint_symbols, "rc_other_row, which does not begin with rc_disk_")

    def test_symbols_writable_data_is_found(self):
        self.compile("base", "disk", "static int calls;\nint rc_disk_count(void) { static int n = 5; n += ++calls; return n; }\n")
        self.expect(self.lint_symbols, "calls is writable", "n is writable")

    def test_symbols_printing_and_ending_are_found(self):
        self.compile("base", "disk", "#include <stdio.h>\n#include <stdlib.h>\nvoid rc_disk_x(int a) { printf(\"%d\", a); exit(a); }\n")
        self.expect(self.lint_symbols, "uses printf", "uses exit")

    def test_symbols_files_in_computing_module_are_found(self):
        source = "#include <stdio.h>\nvoid *rc_disk_x(void) { return fopen(\"a\", \"r\"); }\n"
        self.compile("flight", "disk", source)
        self.expect(self.lint_symbols, "flight computes and touches no files")

    def test_symbols_without_objects_fail(self):
        self.expect(self.lint_symbols, "nothing to check")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        Lints.compiler = sys.argv.pop(1)
    unittest.main()
