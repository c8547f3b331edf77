"""Which roles do what to organisations and gear."""

from gearlife.domain.vocabulary import Role

ADMINISTRATORS = frozenset({Role.ADMINISTRATOR})
WRITERS = frozenset({Role.ADMINISTRATOR, Role.OFFICER})
# What a coach sees of it is the own team's: the doorway of each table says so.
READERS = WRITERS | {Role.AUDITOR, Role.COACH}
# Stopping never waits for anybody who can see the gear.
STOPPERS = WRITERS | {Role.COACH}
