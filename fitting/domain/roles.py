"""Who sees and writes what was measured of a player: officers of the club, and administrators."""

from gearlife.domain.access import WRITERS

MEASURERS = WRITERS
