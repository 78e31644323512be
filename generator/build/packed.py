"""A site in one file, for a memory stick: the same site gives the same bytes."""

from __future__ import annotations

import os
import zipfile
from pathlib import Path

from generator.build.own import MARKER
from generator.files import Folder

LARGEST = 1 << 30  # bytes of a file of a site
_WHEN = (1980, 1, 1, 0, 0, 0)  # the first day that the format knows: when a file was built is not told
_MODE = 0o100644 << 16  # an ordinary file that everybody may read


def pack_site(site: Path, file: Path) -> int:
    """Pack all files of a site but the list of them, in the order of their names, into a folder named as the file; its
    size in bytes. The old file stays until the new one is whole. Raises OSError, Unreadable."""
    new = file.with_name(f".{file.name}.new")
    new.unlink(missing_ok=True)
    try:
        with Folder(site) as folder, zipfile.ZipFile(new, "x", zipfile.ZIP_DEFLATED, compresslevel=6) as out:
            names = sorted(found.path for found in folder.walk() if found.kind == "file")
            for name in names:
                if name != MARKER:
                    entry = zipfile.ZipInfo(f"{file.stem}/{name}", _WHEN)
                    entry.external_attr, entry.create_system = _MODE, 3
                    entry.compress_type = zipfile.ZIP_DEFLATED
                    out.writestr(entry, folder.read(name, LARGEST))
        os.replace(new, file)
    except BaseException:
        new.unlink(missing_ok=True)
        raise
    return file.stat().st_size
