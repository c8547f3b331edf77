"""Files beside the database: whole and on the disk before the row that tells of them."""

import os
from pathlib import Path

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage


class KeptFolder(FileSystemStorage):
    """The folder of photographs: Django's, but that a file is whole and on the disk before its name is there."""

    def _save(self, name: str, content: "File[bytes]") -> str:
        write_whole(Path(self.path(name)), content.read())
        return name


def write_whole(target: Path, content: bytes) -> None:
    """Write a new file; a reader never meets half of it, and it outlives a power cut."""
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    partial = target.with_suffix(".part")
    try:
        with partial.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(target)
    except OSError:
        partial.unlink(missing_ok=True)
        raise
    _sync_folder(target.parent)


def _sync_folder(folder: Path) -> None:
    """Make the new name itself outlive a power cut, where the system can."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
