"""Every column that may say something of a person has a word in the data, and every word has its column."""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import models

from fitting.models import Player
from gearlife.domain.privacy import About, Then, then
from gearlife.queries.privacy import tables

OURS = ("gearlife", "fitting", "inspections")
TEXT = (models.CharField, models.TextField, models.JSONField)
# What every row has, and says nothing.
PLAIN = {"id", "organisation", "version"}


def ours() -> Iterator[type[models.Model]]:
    yield from (model for app in OURS for model in apps.get_app_config(app).get_models())


def of_persons(model: type[models.Model]) -> bool:
    """Whether it is the players' table, or points at it over however many tables."""
    waiting: list[Any] = [model]
    seen: set[Any] = {model}
    while waiting:
        pointed = {field.related_model for field in waiting.pop()._meta.concrete_fields} - seen - {None}
        waiting += pointed
        seen |= pointed
    return Player in seen


def to_be_classified(model: type[models.Model]) -> set[str]:
    fields = [field for field in model._meta.concrete_fields if field.name not in PLAIN]
    return {field.name for field in fields if of_persons(model) or isinstance(field, TEXT)}


def unclassified(model: type[models.Model]) -> set[str]:
    known = tables().get(model._meta.label)
    return to_be_classified(model) - set(known.columns if known else ())


class TestColumns:
    def test_every_text_and_every_column_of_a_person_is_classified(self) -> None:
        missing = {model._meta.label: names for model in ours() if (names := unclassified(model))}
        assert missing == {}

    def test_no_word_is_left_of_a_column_that_is_gone(self) -> None:
        for label, table in tables().items():
            columns = {field.name for field in apps.get_model(label)._meta.concrete_fields}
            assert set(table.columns) <= columns, label

    def test_a_column_of_a_person_that_nobody_decided_upon_is_found(self) -> None:
        class Note(models.Model):
            player = models.ForeignKey(Player, on_delete=models.CASCADE)
            shoe_size = models.IntegerField()

            class Meta:
                app_label = "fitting"
                managed = False

        try:
            assert unclassified(Note) == {"player", "shoe_size"}
        finally:
            del apps.all_models["fitting"]["note"]
            apps.clear_cache()

    def test_a_table_with_words_says_whom_they_are_about_or_that_they_are_of_all(self) -> None:
        for label, table in tables().items():
            for path in (table.item, table.player):
                if path:
                    apps.get_model(label)._meta.default_manager.values_list(path).query.sql_with_params()

    def test_names_are_replaced_and_what_was_measured_goes(self) -> None:
        done = {about: then(about) for about in About}
        assert done[About.NAME] is Then.LABEL
        assert {about for about in done if done[about] is Then.DELETE_ROW} == {
            About.MEASUREMENT,
            About.CHANGE,
            About.READ,
        }
        assert {about for about in done if done[about] is Then.CLEAR} == {About.PERSON, About.FIT}
        assert done[About.WORDS] is Then.REWORD
