"""`sitelog tidy` as people run it."""

import os
import subprocess

from tests.typing.running import LOG, a_site, command, environment, run

SLOPPY = LOG + "08:05 torque   foot-1   12 N.m with TW3-- first\n08:10 torqe foot-2   12 Nm\n"


def test_files_are_lined_up_in_place(tmp_path):
    path = a_site(tmp_path, SLOPPY)
    status, out, err = run(tmp_path, "tidy", "hill-9.site")
    assert (status, out, err) == (0, "hill-9.site\n1 of 1 file lined up\n", "")
    assert path.read_text(encoding="utf-8").endswith(
        "08:05  torque  foot-1  12 Nm with TW3   -- first\n08:10 torqe foot-2   12 Nm\n"
    )
    assert run(tmp_path, "tidy", "hill-9.site") == (0, "0 of 1 file lined up\n", "")


def test_check_names_files_and_writes_nothing(tmp_path):
    path = a_site(tmp_path, SLOPPY)
    assert run(tmp_path, "tidy", "--check", "hill-9.site") == (1, "hill-9.site\n", "")
    assert path.read_text(encoding="utf-8") == SLOPPY
    run(tmp_path, "tidy")
    assert run(tmp_path, "tidy", "--check") == (0, "", "")


def test_diff_is_a_patch_that_makes_the_same_file(tmp_path):
    path = a_site(tmp_path, SLOPPY.rstrip("\n"))
    status, out, err = run(tmp_path, "tidy", "--diff", "hill-9.site")
    assert (status, err) == (0, "")
    assert path.read_text(encoding="utf-8") == SLOPPY.rstrip("\n")
    assert out.startswith("--- hill-9.site\n+++ hill-9.site\n@@ ")
    subprocess.run(["git", "apply", "--unidiff-zero", "-p0"], cwd=tmp_path, input=out.encode(), check=True)
    patched = path.read_bytes()
    path.write_text(SLOPPY.rstrip("\n"), encoding="utf-8")
    run(tmp_path, "tidy", "hill-9.site")
    assert path.read_bytes() == patched
    assert not patched.endswith(b"\n")


def test_line_ends_and_marks_stay(tmp_path):
    path = a_site(tmp_path)
    path.write_bytes(b"\xef\xbb\xbf" + SLOPPY.replace("\n", "\r\n").encode())
    assert run(tmp_path, "tidy", "hill-9.site")[0] == 0
    data = path.read_bytes()
    assert data.startswith(b"\xef\xbb\xbfsite ")
    assert data.count(b"\r\n") == data.count(b"\n") == SLOPPY.count("\n")


def test_standard_input_goes_to_standard_output(tmp_path):
    text = b"site a-1\nday 2026-03-02\n8:00 torque   b-1 12 N.m\n"
    status, out, err = run(tmp_path, "tidy", "-", input=text)
    assert (status, err) == (0, "")
    assert out == "site   a-1\nday    2026-03-02\n8:00  torque  b-1  12 Nm\n"


def test_what_cannot_be_read_is_said_and_the_rest_done(tmp_path):
    path = a_site(tmp_path, SLOPPY)
    wide = tmp_path / "wide.site"
    wide.write_bytes("site  w-1\n".encode("utf-16"))
    before = wide.read_bytes()
    status, out, err = run(tmp_path, "tidy", "hill-9.site", "wide.site", "none.site")
    assert status == 2
    assert out == "hill-9.site\n1 of 2 files lined up\n"
    assert err == (
        "sitelog: none.site: no such file or folder\n"
        "sitelog: wide.site: the file is UTF-16, not UTF-8, and was left as it is\n"
    )
    assert wide.read_bytes() == before
    assert path.read_text(encoding="utf-8") != SLOPPY


def test_nothing_raw_reaches_a_terminal(tmp_path):
    """The terminal is a pseudo-terminal of the system's own."""
    path = a_site(tmp_path, LOG + "08:05 note   ring\x1b[31m\n08:06 look   wall-sound   ok\n")
    leader, follower = os.openpty()
    subprocess.run(
        command("tidy", "--diff", "hill-9.site"), cwd=tmp_path, env=environment(), stdout=follower, check=True
    )
    os.close(follower)
    shown = os.read(leader, 65536)
    os.close(leader)
    assert b"\x1b" not in shown
    assert b"\\x1b[31m" in shown
    assert "\x1b" in path.read_text(encoding="utf-8")
