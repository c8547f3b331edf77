"""`manage.py intake`: what it prints, and that it exits 1 when it refuses."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from gearlife.models import Club, Item
from tests.factories import ClubFactory
from tests.gearlife.intake.club_files import GOOD, file_of, helmet

pytestmark = pytest.mark.django_db


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create(name="Otter Bend", code="OTTER")
    return made


def run(path: Path, *options: str, club: str = "OTTER") -> str:
    out = StringIO()
    call_command("intake", str(path), "--club", club, *options, stdout=out)
    return out.getvalue()


def refused(path: Path, *options: str, club: str = "OTTER") -> tuple[str, str]:
    out = StringIO()
    with pytest.raises(CommandError) as error:
        call_command("intake", str(path), "--club", club, *options, stdout=out)
    assert error.value.returncode == 1
    return out.getvalue(), str(error.value)


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "gear.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.usefixtures("club")
def test_it_says_what_it_took_in_and_the_second_time_that_nothing_changed(tmp_path: Path) -> None:
    path = written(tmp_path, GOOD)
    checked = "items of Otter Bend: checked only, nothing was changed: 3 added, 0 changed, 0 unchanged\n"
    assert run(path, "--check").startswith(checked)
    assert not Item.objects.exists()
    assert run(path, club="otter").startswith("items of Otter Bend: 3 added, 0 changed, 0 unchanged\n")
    assert run(path) == "items of Otter Bend: 0 added, 0 changed, 3 unchanged\n"


@pytest.mark.usefixtures("club")
@pytest.mark.parametrize("options", [(), ("--check",)])
def test_refused_it_prints_one_line_a_fault_and_exits_1(tmp_path: Path, options: tuple[str, ...]) -> None:
    path = written(tmp_path, file_of(helmet(kind="hat", made_on="6/19"), helmet(serial="b", notes="=1")))
    out, error = refused(path, *options)
    assert [line.split(":")[0] for line in out.splitlines()] == [
        "row 2, kind, 'hat'",
        "row 2, made_on, '6/19'",
        "note",
        "note",
        "note",
    ]
    assert error == "This file of items is refused: 2 faults in 1 row. Nothing of it was taken in."


@pytest.mark.usefixtures("club")
def test_a_copy_with_tags_is_written_where_asked_and_can_be_taken_in(tmp_path: Path) -> None:
    path, copy = written(tmp_path, file_of(helmet(serial=""))), tmp_path / "tagged.csv"
    assert "--write-tagged PATH" in refused(path)[0]
    assert f"a copy with tags filled in: {copy}" in refused(path, "--write-tagged", str(copy))[0]
    assert "cannot be written: File exists" in refused(path, "--write-tagged", str(copy))[1]
    assert run(copy).startswith("items of Otter Bend: 1 added")
    assert Item.objects.get().serial == ""


@pytest.mark.usefixtures("club")
@pytest.mark.parametrize(
    ("content", "words"), [(b"", "the file is empty"), (b"\x89PNG\x00", "binary file"), (b"a,b\nc,d", "no heading")]
)
def test_what_is_no_such_file_is_refused_politely(tmp_path: Path, content: bytes, words: str) -> None:
    assert words in refused(written(tmp_path, content))[1]


@pytest.mark.usefixtures("club")
def test_a_path_that_leads_nowhere_is_refused_politely(tmp_path: Path) -> None:
    assert refused(tmp_path / "none.csv")[1].endswith("cannot be read: No such file or directory")
    assert refused(tmp_path)[1].endswith("cannot be read: Is a directory")


@pytest.mark.usefixtures("club")
def test_a_file_that_is_too_large_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        file.truncate(100 * 1024 * 1024 + 1)
    assert refused(path)[1].endswith("is larger than 100 MB: split it into several files")


@pytest.mark.usefixtures("club")
def test_an_unknown_club_names_the_known_ones(tmp_path: Path) -> None:
    assert refused(written(tmp_path, GOOD), club="OTER")[1] == "There is no club OTER. Known clubs: OTTER"


def test_a_code_of_two_organisations_needs_the_organisation(tmp_path: Path, club: Club) -> None:
    other = ClubFactory.create(code="OTTER")
    path = written(tmp_path, GOOD)
    words, _, names = refused(path)[1].rpartition(": ")
    assert words == "More than one organisation has a club OTTER: name one by --organisation"
    # Two databases sort text in two ways.
    assert set(names.split(", ")) == {f'"{each.organisation.name}"' for each in (club, other)}
    run(path, "--organisation", club.organisation.name)
    assert set(Item.objects.values_list("club", flat=True)) == {club.id}


@pytest.mark.usefixtures("club")
def test_doubts_are_counted_and_stop_doubtful_takes_them_in(tmp_path: Path) -> None:
    path = written(tmp_path, file_of(helmet(made_on="2024", acquired_on="2023-01-01")))
    assert "1 of these are doubts: --stop-doubtful takes such rows in, each with a hold\n" in refused(path)[0]
    first, *notes = run(path, "--stop-doubtful").splitlines()
    assert first == "items of Otter Bend: 1 added, 0 changed, 0 unchanged; 1 of them doubtful and stopped"
    assert notes[-1].endswith("doubtful: made later than acquired_on 2023-01-01; taken in stopped")


@pytest.mark.usefixtures("club")
def test_progress_is_told_where_it_is_asked_for_and_no_terminal_is(tmp_path: Path) -> None:
    path = written(tmp_path, file_of(*(helmet(serial=f"S-{number}") for number in range(2100))))
    for options, stages in (((), []), (("--progress",), ["reading", "checking", "writing"])):
        err = StringIO()
        call_command("intake", str(path), "--club", "OTTER", "--check", *options, stdout=StringIO(), stderr=err)
        assert list(dict.fromkeys(line.split(":")[0] for line in err.getvalue().splitlines())) == stages[:2]
    err = StringIO()
    call_command("intake", str(path), "--club", "OTTER", "--progress", stdout=StringIO(), stderr=err)
    lines = err.getvalue().splitlines()
    assert (lines[0], lines[-1]) == ("reading: 0 of 2,100 rows", "writing: 2,100 of 2,100 rows")


@pytest.mark.usefixtures("club")
def test_a_tagged_copy_leaves_what_a_spreadsheet_would_run_inert_and_reads_back_the_same(tmp_path: Path) -> None:
    path, copy = written(tmp_path, file_of(helmet(serial="", notes="=1+1", colour="@x"), helmet())), tmp_path / "t.csv"
    refused(path, "--write-tagged", str(copy))
    assert ",'@x,'=1+1" in copy.read_text(encoding="utf-8-sig")
    assert copy.read_bytes().startswith(b"\xef\xbb\xbf")
    run(copy)
    assert set(Item.objects.values_list("colour", "notes")) == {("@x", "=1+1"), ("", "")}
    assert "0 added, 0 changed, 2 unchanged" in run(copy)
