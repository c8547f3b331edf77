"""The same file from two phones at once: one takes it in, the other finds that nothing is new; on both databases."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from gearlife.models import GearModel, Item
from gearlife.queries.ledger import first_broken
from tests.factories import ClubFactory
from tests.gearlife.intake.club_files import GOOD, taken_in

pytestmark = pytest.mark.django_db(transaction=True)
MANY = 4


def test_of_the_same_file_many_times_at_once_each_row_is_taken_in_once() -> None:
    club = ClubFactory.create()
    barrier = Barrier(MANY)

    def send(_: int) -> tuple[int, int]:
        barrier.wait()
        try:
            report = taken_in(GOOD, club)
            return report.added, report.unchanged
        finally:
            connection.close()

    with ThreadPoolExecutor(MANY) as pool:
        answers = Counter(pool.map(send, range(MANY)))

    assert answers == {(3, 0): 1, (0, 3): MANY - 1}
    assert (Item.objects.count(), GearModel.objects.count()) == (3, 2)
    assert first_broken(club.organisation_id) is None
