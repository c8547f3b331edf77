"""Pictures are rebuilt in a process of their own, bounded in memory and time: the web process decodes nothing."""

import json
import logging
import subprocess
import sys
from collections.abc import Mapping
from threading import BoundedSemaphore

from django.conf import settings

from gearlife.domain.errors import GearlifeError, InvalidInputError, UnsupportedFormatError
from gearlife.domain.pictures import Picture, too_costly

COMMAND = (sys.executable, "-s", "-m", "gearlife.operations.picture_child")
SECONDS = 30.0
# What they take together is bounded as well: whoever comes third waits.
AT_ONCE = 2

logger = logging.getLogger(__name__)
_places = BoundedSemaphore(AT_ONCE)


def rebuild_apart(original: bytes) -> Picture:
    """Rebuild a picture upright as a JPEG. UnsupportedFormatError, or InvalidInputError with why, and nothing kept.

    RuntimeError where the process could not even begin: the picture is not to blame then.
    """
    with _places:
        try:
            # No environment goes along: the database's address and the secret key are in it.
            done = subprocess.run(  # noqa: S603 - our own program, without a shell
                COMMAND,
                input=original,
                capture_output=True,
                cwd=settings.BASE_DIR,
                env={},
                timeout=SECONDS,
                check=False,
            )
        except subprocess.TimeoutExpired:
            logger.warning("a picture was not rebuilt within %s seconds", SECONDS)
            raise too_costly() from None
    if done.returncode:
        raise _ended(done.returncode, done.stderr)
    return _picture(done.stdout)


def _ended(code: int, said: bytes) -> Exception:
    """What to say of a process that did not answer. Killed by a signal: a limit, or a decoder that fell over."""
    logger.warning("a picture's process ended with %s: %s", code, said[-2000:].decode(errors="replace"))
    if code < 0:
        return too_costly()
    return RuntimeError("the process that rebuilds pictures does not run")


def _picture(answer: bytes) -> Picture:
    line, _, files = answer.partition(b"\n")
    told: Mapping[str, str] = json.loads(line)
    if "refused" in told:
        raise _refusal(told)
    length = int(told["jpeg"])
    size = int(told["width"]), int(told["height"])
    return Picture(files[:length], files[length:], *size, told["sha256"])


def _refusal(told: Mapping[str, str]) -> GearlifeError:
    if told["refused"] == UnsupportedFormatError.__name__:
        return UnsupportedFormatError(told["words"])
    return InvalidInputError.at(told["place"], told["words"], told["code"])
