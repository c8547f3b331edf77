"""What a finding means: how it counts, what hold it opens, and what the whole inspection comes to."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from gearlife.domain.errors import Fault
from gearlife.domain.seasons import add_days
from gearlife.domain.vocabulary import Advice, HoldEndsBy, Kind
from inspections.domain.checklists import CRACK, Defect, Known, is_shell_crack
from inspections.domain.grades import graver, worst
from inspections.domain.vocabulary import Grade

# How long a repair may wait when nobody said: common practice, no source.
REPAIR_DAYS = 7
# How long at the most: the next yearly inspection finds it; common practice, no source.
LONGEST_REPAIR_DAYS = 366
STOPS = frozenset({Grade.STOP, Grade.SCRAP})


@dataclass(frozen=True)
class NewFinding:
    """One fault as it was seen. Without a grade the defect's mildest counts; without a defect the grade as given."""

    point: str
    defect: str = ""
    grade: Grade | str | None = None
    fixed_here: bool = False
    part: str = ""
    note: str = ""
    deal_with_by: date | None = None


@dataclass(frozen=True)
class Opening:
    """The hold that a finding opens."""

    reason: str
    starts_on: date
    deferred: bool
    advice: Advice
    ends_by: HoldEndsBy


@dataclass(frozen=True)
class Assessed:
    """A finding as it counts: its grade raised to its defect's mildest where it was given too mild."""

    given: NewFinding
    grade: Grade
    counts_as: Grade
    may_be_shell_crack: bool
    ends_use: bool

    @property
    def fixable(self) -> bool:
        """A shell crack, a stop of the shell that nobody named, and scrap are not put right on the spot."""
        return not self.may_be_shell_crack and self.counts_as is not Grade.SCRAP

    @property
    def dealt_with(self) -> bool:
        """Whether it was put right on the spot."""
        return self.given.fixed_here and self.fixable

    @property
    def words(self) -> str:
        """The finding in its codes, readable: `shell: crack (stop)`. No free text, so nobody's name."""
        defect = f": {self.given.defect}" if self.given.defect else ""
        fixed = ", fixed here" if self.dealt_with else ""
        return f"{self.given.point}{defect} ({self.counts_as}{fixed})".replace("_", " ")

    def opens(self, day: date) -> Opening | None:
        """The hold it opens, inspected on `day`: at once, from the day a repair may wait for, or none."""
        if self.dealt_with or self.counts_as not in STOPS | {Grade.REPAIR}:
            return None
        deferred = self.counts_as is Grade.REPAIR
        return Opening(
            reason=self.words,
            starts_on=self.given.deal_with_by or add_days(day, REPAIR_DAYS) if deferred else day,
            deferred=deferred,
            advice=Advice.RETIRE if self.ends_use else Advice.INSPECT,
            ends_by=HoldEndsBy.CRACK_RULE if self.may_be_shell_crack else HoldEndsBy.OFFICER,
        )


def assess(kind: Kind, finding: NewFinding, known: Known) -> Assessed:
    """Count one finding, of a point and defect that the checklist knows."""
    defect = known[finding.point].get(finding.defect, Defect())
    grade = Grade(finding.grade) if finding.grade else defect.mildest
    counts_as = graver(grade, defect.mildest)
    # A stop of the shell that names no defect is a crack until a second person has looked.
    unnamed = not finding.defect and counts_as in STOPS
    return Assessed(
        given=finding,
        grade=grade,
        counts_as=counts_as,
        may_be_shell_crack=is_shell_crack(kind, finding.point, CRACK if unnamed else finding.defect),
        ends_use=defect.ends_use or counts_as is Grade.SCRAP,
    )


def outcome_of(findings: Iterable[Assessed]) -> Grade:
    """The worst of what was not put right on the spot."""
    return worst(finding.counts_as for finding in findings if not finding.dealt_with)


def faults_of(
    kind: Kind, findings: Sequence[NewFinding], not_looked_at: Sequence[str], known: Known
) -> Iterator[Fault]:
    """Points and defects that this kind's checklist does not know, and findings that say nothing."""
    for number, finding in enumerate(findings):
        place = f"/findings/{number}"
        if finding.point not in known:
            yield _unknown("point", finding.point, f"a {_words(kind)} checklist", known, f"{place}/point")
        elif finding.defect and finding.defect not in known[finding.point]:
            yield _unknown(
                "defect", finding.defect, f"the point `{finding.point}`", known[finding.point], f"{place}/defect"
            )
        elif not finding.defect and not finding.grade:
            yield Fault("Name the defect, or say by a grade how bad it is.", f"{place}/grade", "required")
    for number, point in enumerate(not_looked_at):
        if point not in known:
            yield _unknown("point", point, f"a {_words(kind)} checklist", known, f"/not_looked_at/{number}")


def late_repairs(findings: Sequence[NewFinding], day: date) -> Iterator[Fault]:
    """Days so far ahead that a slip of the pen would silence a repair for good."""
    for number, finding in enumerate(findings):
        if finding.deal_with_by and (finding.deal_with_by - day).days > LONGEST_REPAIR_DAYS:
            words = f"A repair waits for {LONGEST_REPAIR_DAYS} days at the most; is the year right?"
            yield Fault(words, f"/findings/{number}/deal_with_by", "too_late")


def _unknown(what: str, code: str, whose: str, known: Iterable[str], pointer: str) -> Fault:
    return Fault(f"`{code}` is no {what} of {whose}; there are: {', '.join(known)}.", pointer, f"unknown_{what}")


def _words(kind: Kind) -> str:
    return kind.replace("_", " ")
