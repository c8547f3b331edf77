"""`python -m tests.bench.photos`: 12 megapixels cleaned, beside the library decoding and encoding them."""

import io
import subprocess
from collections.abc import Mapping
from random import Random

from tests.bench.harness import in_turns, run

SIZE = (4000, 3000)
ROUNDS = 9


def photograph() -> bytes:
    """An invented helmet on grass: large shapes with a grain, some megabytes, turned, with its Exif."""
    from PIL import Image

    draw = Random(12)
    grain = Image.frombytes("L", (1000, 750), draw.randbytes(1000 * 750)).resize(SIZE)
    shapes = Image.radial_gradient("L").resize(SIZE)
    picture = Image.blend(
        Image.merge("RGB", (shapes, grain, shapes.rotate(180))), Image.merge("RGB", (grain,) * 3), 0.2
    )
    told = Image.Exif()
    told[0x0112] = 6
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=92, exif=told)
    return written.getvalue()


def measure() -> Mapping[str, object]:
    """Median seconds of both, how often the one is in the other, and of how much the empty process is to blame."""
    from PIL import Image

    from gearlife.domain.rebuilding import QUALITY
    from gearlife.operations.rebuilding import COMMAND, rebuild_apart

    original = photograph()

    def bare() -> bytes:
        with Image.open(io.BytesIO(original)) as image:
            written = io.BytesIO()
            image.convert("RGB").save(written, "JPEG", quality=QUALITY)
        return written.getvalue()

    def refused() -> object:
        return subprocess.run(COMMAND, input=b"", capture_output=True, env={}, check=True)

    competitors = {"ours": lambda: rebuild_apart(original), "theirs": bare, "process": refused}
    seconds = in_turns(competitors, rounds=ROUNDS, warm_up=1)
    return {
        "bench": "a photograph of 12 megapixels cleaned, with its small one",
        "original_bytes": len(original),
        "stored_bytes": len(rebuild_apart(original).jpeg),
        "cleaned_seconds": round(seconds["ours"], 3),
        "pillow_decode_encode_seconds": round(seconds["theirs"], 3),
        "empty_process_seconds": round(seconds["process"], 3),
        "ratio": round(seconds["ours"] / seconds["theirs"], 2),
    }


if __name__ == "__main__":
    run(measure)
