"""The process in which one picture is rebuilt: `python -m`, the original in, what was made of it out.

It bounds itself before it reads a byte, writes no file, and knows neither settings nor secrets. Out comes one line of
JSON, then the JPEG and the small one; or the line alone, with the refusal.
"""

import json
import resource
import sys
from collections.abc import Mapping

from gearlife.domain.errors import GearlifeError
from gearlife.domain.pictures import too_costly
from gearlife.domain.rebuilding import rebuild

MEMORY = 1 << 30  # bytes of address space: 50 megapixels, twice over, with the libraries
CPU_SECONDS = 15
LIMITS = {
    resource.RLIMIT_AS: MEMORY,
    resource.RLIMIT_CPU: CPU_SECONDS,
    resource.RLIMIT_FSIZE: 0,
    resource.RLIMIT_CORE: 0,
}


def main() -> None:
    """Rebuild what comes in."""
    for limit, most in LIMITS.items():
        resource.setrlimit(limit, (most, most))
    try:
        picture = rebuild(sys.stdin.buffer.read())
    except MemoryError:
        _refuse(too_costly())
    except GearlifeError as refused:
        _refuse(refused)
    else:
        size = {"width": picture.width, "height": picture.height, "jpeg": len(picture.jpeg)}
        _answer({**size, "sha256": picture.original_sha256}, picture.jpeg, picture.thumbnail)


def _refuse(refused: GearlifeError) -> None:
    place = refused.faults[0].pointer if refused.faults else ""
    _answer({"refused": type(refused).__name__, "words": refused.detail, "code": refused.code, "place": place})


def _answer(told: Mapping[str, object], *files: bytes) -> None:
    sys.stdout.buffer.write(b"\n".join([json.dumps(told).encode(), b"".join(files)]))
    sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
