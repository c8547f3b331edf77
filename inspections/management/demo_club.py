"""The demo club: its files go through the same intake and its history through the same operations as a user's."""

import csv
import io
import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from fitting.domain.charts import COLUMNS
from fitting.operations.size_charts import NewChart, add_chart
from gearlife.domain.access import Actor, Stamp
from gearlife.domain.vocabulary import Kind, Liner, Role
from gearlife.models import Club, GearModel, Organisation, Team, User
from gearlife.operations import access, catalogue, organisations
from gearlife.operations.alerts import at_the_end
from gearlife.operations.intake import take_in
from gearlife.queries.access import actor_of_user
from inspections.domain.shifting import Shift
from inspections.management.demo_history import ACTS, Acting
from inspections.management.demo_parts import Notebook, enter_lists

Row = dict[str, str]
DAYS = frozenset({"made_on", "certified_on", "acquired_on", "measured_on", "since", "on", "deal_with_by"})
YEARS = frozenset({"birth_year", "label_year"})


class DemoClub:
    """The invented club of `fixtures/`, with its days moved so that today is mid-season."""

    def __init__(self, folder: Path, now: datetime) -> None:
        """Read what the folder says of the club."""
        self.folder = folder
        self.now = now
        self.about: dict[str, Any] = json.loads((folder / "club.json").read_text())
        self.zone = ZoneInfo(self.about["club"]["timezone"])
        base_day = date.fromisoformat(self.about["base_day"])
        self.shift = Shift.between(base_day, now.astimezone(self.zone).date())
        self.users: dict[str, Actor] = {}
        self.acts = 0

    def known(self) -> tuple[Club, User] | None:
        """The club and its first officer, where it has been taken in already."""
        name = self.about["organisation"]["name"]
        club = Club.objects.filter(organisation__name=name, code=self.about["club"]["code"]).first()
        officers = [person["username"] for person in self.about["people"] if person["role"] == Role.OFFICER]
        return (club, User.objects.get(username=officers[0])) if club else None

    def others(self) -> list[User]:
        """The second officer and the administrator."""
        roles = (Role.OFFICER, Role.ADMINISTRATOR)
        names = [person["username"] for person in self.about["people"] if person["role"] in roles]
        first = next(person["username"] for person in self.about["people"] if person["role"] == Role.OFFICER)
        return list(User.objects.filter(username__in=names).exclude(username=first).order_by("username"))

    def people_of_the_pages(self) -> list[tuple[User, str]]:
        """Who signs in to the pages, officers first, each with the role in words; damage reporters have no page."""
        order = (Role.OFFICER, Role.COACH, Role.ADMINISTRATOR, Role.AUDITOR)
        known = [person for person in self.about["people"] if person["role"] in order]
        known.sort(key=lambda person: order.index(Role(person["role"])))
        users = User.objects.select_related("organisation").in_bulk(
            [person["username"] for person in known], field_name="username"
        )
        roles = [person["role"] for person in known]
        told = ["second " * roles[:place].count(role) + role for place, role in enumerate(roles)]
        return [(users[person["username"]], words) for person, words in zip(known, told, strict=True)]

    def load(self) -> None:
        """Found the organisation and live through its two seasons."""
        begins = self.moment(self.shift.day(date.fromisoformat(self.about["begins_on"])))
        organisation = organisations.found_organisation(**self.about["organisation"], at=begins)
        stamp = organisations.own_stamp(organisation, begins)
        club = organisations.add_club(stamp=stamp, **self.about["club"])
        teams = {team["name"]: organisations.add_team(stamp=stamp, club=club, **team) for team in self.about["teams"]}
        self.add_people(organisation, club, teams)
        self.add_catalogue(stamp)
        self.add_charts(stamp)
        enter_lists(self.rows("parts.csv"), stamp)
        for season in self.about["seasons"]:
            self.add_season(club, season, stamp)
        with at_the_end(organisations.own_stamp(organisation, self.now)):
            self.live(club)
            self.type_in_notebook(club)

    def moment(self, day: date, second: int = 0) -> datetime:
        """Noon of a day in the club's time zone and some seconds, never later than now."""
        noon = datetime.combine(day, time(12), self.zone) + timedelta(seconds=second)
        return min(noon.astimezone(UTC), self.now)

    def add_people(self, organisation: Organisation, club: Club, teams: dict[str, Team]) -> None:
        """Add the demo's accounts, one per role and a second officer."""
        for person in self.about["people"]:
            user = access.add_user(organisation=organisation, username=person["username"])
            role = Role(person["role"])
            access.grant(
                user=user,
                role=role,
                club=club if role is Role.OFFICER else None,
                team=teams.get(person["team"]) if person["team"] else None,
            )
            self.users[person["username"]] = actor_of_user(user)

    def add_catalogue(self, stamp: Stamp) -> None:
        """Add makers and models, with the intervals that the makers state."""
        makers: dict[str, Any] = {}
        for model in self.about["models"]:
            name = model.pop("manufacturer")
            makers[name] = makers.get(name) or catalogue.add_manufacturer(name=name, stamp=stamp)
            model |= {"kind": Kind(model["kind"]), "liner": Liner(model["liner"]), "manufacturer": makers[name]}
            catalogue.add_model(new=catalogue.NewModel(**model), stamp=stamp)

    def add_charts(self, stamp: Stamp) -> None:
        """Enter the makers' size charts, as an officer types them from the booklets."""
        for name, rows in groupby(self.rows("size_charts.csv"), key=itemgetter("model")):
            model = GearModel.objects.get(organisation_id=stamp.actor.organisation_id, name=name)
            lines = [",".join(row[column] for column in COLUMNS) for row in rows]
            chart = NewChart(model, csv="\n".join([",".join(COLUMNS), *lines]), stated_in="owner's booklet, page 9")
            add_chart(new=chart, stamp=stamp)

    def add_season(self, club: Club, season: dict[str, Any], stamp: Stamp) -> None:
        """Enter a season, moved; its year is the one in which it begins."""
        starts_on = self.shift.day(date.fromisoformat(season["starts_on"]))
        organisations.add_season(
            stamp=stamp,
            club=club,
            year=self.shift.year(season["year"]),
            starts_on=starts_on,
            ends_on=self.shift.day(date.fromisoformat(season["ends_on"])),
            off_season_windows=[
                {name: self.shift.text(day) for name, day in window.items()} for window in season["off_season_windows"]
            ],
        )

    def live(self, club: Club) -> None:
        """Take in the files on their days and apply the history between them, day by day and act by act."""
        waiting = sorted(self.about["files"], key=lambda file: file["on"])
        for (day, act), group in groupby(self.rows("history.csv"), key=lambda row: (row["on"], row["act"])):
            while waiting and self.shift.text(waiting[0]["on"]) <= day:
                self.take_in(club, waiting.pop(0))
            rows = list(group)
            ACTS[act](Acting(club, rows, self.stamp(rows[0]["by"], date.fromisoformat(day))))

    def type_in_notebook(self, club: Club) -> None:
        """Record what the first officer wrote down of pads and parts, today."""
        officer = next(person["username"] for person in self.about["people"] if person["role"] == Role.OFFICER)
        today = self.stamp(officer, self.now.astimezone(self.zone).date())
        Notebook(club, today, self.moment).type_in(self.rows("part_history.csv"))

    def take_in(self, club: Club, file: dict[str, str]) -> None:
        """Take one file in, as a user would."""
        rows = self.rows(file["name"])
        text = io.StringIO()
        writer = csv.DictWriter(text, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
        stamp = self.stamp(file["by"], self.shift.day(date.fromisoformat(file["on"])))
        take_in(text.getvalue().encode(), of=file["of"], club=club, filename=file["name"], stamp=stamp)

    def rows(self, name: str) -> list[Row]:
        """The rows of a file, with every date moved."""
        with (self.folder / name).open(newline="", encoding="utf-8") as file:
            return [dict(self.moved(row)) for row in csv.DictReader(file)]

    def moved(self, row: Row) -> Iterator[tuple[str, str]]:
        """One row's cells, dates moved."""
        for column, value in row.items():
            if column in DAYS:
                yield column, self.shift.text(value)
            elif column in YEARS and value:
                yield column, str(self.shift.year(int(value)))
            else:
                yield column, value

    def stamp(self, username: str, day: date) -> Stamp:
        """Who and when; each act of a day comes some seconds after the one before."""
        self.acts += 1
        return Stamp(self.users[username], self.moment(day, self.acts), day)
