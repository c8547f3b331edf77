"""A picture is rebuilt in a process of its own, and whatever becomes of that process, nothing is kept by halves."""

import json
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest

from gearlife.domain.errors import InvalidInputError, UnsupportedFormatError
from gearlife.operations import rebuilding
from gearlife.operations.picture_child import CPU_SECONDS, MEMORY
from gearlife.operations.rebuilding import rebuild_apart
from tests.gearlife.bad_pictures import BAD, mangled
from tests.gearlife.pictures import LOADED, picture

LIMITED = """
import resource, sys
from gearlife.operations import picture_child
picture_child.LIMITS[resource.RLIMIT_CPU] = 1
picture_child.rebuild = lambda original: {instead}
picture_child.main()
"""


def instead(monkeypatch: pytest.MonkeyPatch, act: str) -> None:
    """Let the process do something else than rebuild, under its own limits."""
    monkeypatch.setattr(rebuilding, "COMMAND", (sys.executable, "-c", LIMITED.format(instead=act)))


@pytest.mark.parametrize("kind", LOADED)
def test_what_comes_back_is_what_was_rebuilt(kind: str) -> None:
    from gearlife.domain.rebuilding import rebuild

    assert rebuild_apart(LOADED[kind]) == rebuild(LOADED[kind])


@pytest.mark.parametrize("name", ["gif", "nothing", "larger png bomb", "moving webp", "HEIC that breaks off"])
def test_a_refusal_comes_back_with_its_code_and_its_place(name: str) -> None:
    content, codes = BAD[name]
    with pytest.raises((InvalidInputError, UnsupportedFormatError)) as refusal:
        rebuild_apart(content)

    assert refusal.value.code in codes
    if isinstance(refusal.value, InvalidInputError):
        assert [fault.pointer for fault in refusal.value.faults] == ["/file"]


@pytest.mark.parametrize(
    "act",
    ["bytearray(1 << 40)", "exec('while True: pass')", "__import__('os').kill(__import__('os').getpid(), 9)"],
    ids=["memory", "processor", "killed"],
)
def test_a_process_that_takes_too_much_or_dies_is_a_refusal_in_words(monkeypatch: pytest.MonkeyPatch, act: str) -> None:
    instead(monkeypatch, act)
    with pytest.raises(InvalidInputError) as refusal:
        rebuild_apart(picture())

    assert refusal.value.code == "too_costly"


def test_a_process_that_never_ends_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rebuilding, "SECONDS", 0.5)
    instead(monkeypatch, "__import__('time').sleep(60)")
    with pytest.raises(InvalidInputError) as refusal:
        rebuild_apart(picture())

    assert refusal.value.code == "too_costly"


def test_a_process_that_does_not_run_is_no_fault_of_the_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rebuilding, "COMMAND", (sys.executable, "-c", "import nothing_of_this_name"))
    with pytest.raises(RuntimeError):
        rebuild_apart(picture())


def test_the_process_can_write_no_file_and_has_no_secret_of_ours(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("GEARLIFE_SECRET_KEY", "s3cret")
    asks = (
        "import json, os, resource;"
        "asked = (resource.RLIMIT_AS, resource.RLIMIT_CPU, resource.RLIMIT_FSIZE);"
        "limits = [resource.getrlimit(each)[1] for each in asked];"
        "print(json.dumps({'refused': '', 'words': json.dumps([limits, dict(os.environ)]), 'code': '', 'place': ''}))"
    )
    instead(monkeypatch, f"exec({asks!r}) or exec('raise SystemExit')")
    with pytest.raises(InvalidInputError) as told:
        rebuild_apart(picture())
    limits, environment = json.loads(told.value.detail)

    assert limits == [MEMORY, 1, 0]
    assert CPU_SECONDS > 1
    assert not [name for name in environment if name.startswith("GEARLIFE")]


def test_a_hundred_mangled_files_are_rebuilt_or_refused_in_words() -> None:
    ended = Counter(_ended(mangled(seed)) for seed in range(100))

    assert set(ended) <= {"rebuilt", "damaged", "unsupported_media_type", "too_many_pixels", "not_still"}
    assert ended["rebuilt"] > 5
    assert ended["damaged"] > 20


def _ended(content: bytes) -> str:
    try:
        rebuild_apart(content)
    except (InvalidInputError, UnsupportedFormatError) as refused:
        return refused.code
    return "rebuilt"


def test_a_third_waits_until_one_of_two_is_done(monkeypatch: pytest.MonkeyPatch) -> None:
    running, go_on, most = [], Event(), []

    def run(*_: object, **__: object) -> Any:
        running.append(1)
        most.append(len(running))
        go_on.wait(10)
        running.pop()
        return subprocess.CompletedProcess([], 1, b"", b"")

    def ask() -> None:
        with pytest.raises(RuntimeError):
            rebuild_apart(b"")

    monkeypatch.setattr("gearlife.operations.rebuilding.subprocess.run", run)
    threads = [Thread(target=ask) for _ in range(5)]
    for thread in threads:
        thread.start()
    go_on.set()
    for thread in threads:
        thread.join()

    assert len(most) == 5
    assert max(most) <= rebuilding.AT_ONCE


@pytest.mark.skipif(not shutil.which("exiftool"), reason="named by `python -m tests` as left out")
@pytest.mark.parametrize("kind", LOADED)
def test_an_independent_reader_finds_nothing_but_what_a_jpeg_must_say(kind: str, tmp_path: Path) -> None:
    """Read by exiftool, another's program; `segments` in the tests of the domain reads the same bytes by hand."""
    rebuilt = rebuild_apart(LOADED[kind])
    for name, content in (("picture.jpg", rebuilt.jpeg), ("small.jpg", rebuilt.thumbnail)):
        (tmp_path / name).write_bytes(content)
        command = ["exiftool", "-json", "-a", "-G", "-U", str(tmp_path / name)]
        [told] = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
        groups = {tag.split(":")[0] for tag in told if ":" in tag}

        assert groups == {"ExifTool", "File", "JFIF", "Composite"}
        assert "ExifTool:Warning" not in told
        assert "File:Comment" not in told
