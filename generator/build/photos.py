"""Photos for the site: made into sizes, freed of their metadata, worked on once.

A photo comes from an untrusted note. It is decoded and encoded anew, so that nothing of the file as it came
reaches the site: no place where it was taken, no comment, no second file behind the picture.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import tempfile
import warnings
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cache import Cache, pack, unpack
from generator.files import Unreadable, read_file
from generator.prose.photos import Photo, Refused, Size

if TYPE_CHECKING:
    from PIL import Image

WIDTHS = (480, 960, 1600, 2560)  # the largest shows the print on a board
HEIC = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")  # brands, ISO/IEC 23008-12
STRIP = 256  # rows of a large picture that are converted at a time
_LARGEST_MADE = 64 * 1024 * 1024  # bytes of a file that is made of a photo; it is far smaller
_RECIPE = 3  # to be raised when what is made of a photo changes: old entries of the cache are then left alone


@dataclass(frozen=True)
class Limits:
    """The most that a photo may have. pixels and proportion are checked before anything is decoded.

    whole: the most pixels of a format whose decoder holds the picture several times over (WebP).
    """

    file_bytes: int = 64 * 1024 * 1024
    pixels: int = 100_000_000
    whole: int = 40_000_000
    proportion: float = 10.0  # the longer side over the shorter


class Damaged(Exception):
    """A file of a photo is not in the cache, or not as it was made."""


class Photos:
    """The photos of a library, in the library's cache."""

    def __init__(self, cache: Cache) -> None:
        self.rows, self.folder = cache, cache.folder / "photos"

    def work(self, source: Path, limits: Limits | None = None) -> Photo:
        """The photo in its sizes, from the cache where it was worked on before.

        Raises Refused for what is no photo or too large, OSError where the cache cannot be written.
        """
        limits = limits or Limits()
        data = _read(source, limits)
        key = _key(data)
        known = self._known(key)
        if known is not None:
            return known
        picture = _decode(data, limits)
        sizes = tuple(self._encode(picture, width) for width in _widths(picture.width))
        photo = Photo(sizes, sizes[-1].width, sizes[-1].height)
        self.rows.put("photos", key, pack(asdict(photo)))
        return photo

    def read(self, name: str) -> bytes:
        """A file of a photo. Raises Damaged."""
        try:
            data = read_file(self.folder / name, _LARGEST_MADE)
        except Unreadable:
            raise Damaged(name) from None
        if _name(data, name) != name:
            with contextlib.suppress(OSError):
                (self.folder / name).unlink()
            raise Damaged(name)
        return data

    def has(self, name: str) -> bool:
        """Whether a file of that name is there; read() says whether it is sound."""
        return (self.folder / name).is_file()

    def prune(self, keep: set[str]) -> None:
        """Delete what the cache holds of photos other than those whose files are named."""
        known = {key: _photo_from(row) for key, row in self.rows.all("photos").items()}
        used = [key for key, photo in known.items() if photo and keep.intersection(photo.files)]
        self.rows.keep("photos", used)
        if self.folder.is_dir():
            for name in os.listdir(self.folder):
                if name not in keep:
                    with contextlib.suppress(OSError):
                        os.unlink(self.folder / name)

    def _known(self, key: str) -> Photo | None:
        """What the cache says; None where it is incomplete or was meddled with."""
        row = self.rows.get("photos", key)
        photo = _photo_from(row) if row else None
        try:
            for name in photo.files if photo else ():
                self.read(name)
        except Damaged:
            return None
        return photo

    def _encode(self, picture: Image.Image, width: int) -> Size:
        from PIL import Image

        height = max(1, round(picture.height * width / picture.width))
        scaled = (
            picture.resize((width, height), Image.Resampling.LANCZOS) if width < picture.width else picture
        )
        names = []
        for ending, options in (
            ("webp", {"format": "WEBP", "quality": 80, "method": 4}),
            ("jpg", {"format": "JPEG", "quality": 80, "optimize": True, "progressive": True}),
        ):
            out = io.BytesIO()
            scaled.save(out, **options)  # type: ignore[arg-type]
            name = _name(out.getvalue(), f"-{width}.{ending}")
            _write(self.folder / name, out.getvalue())
            names.append(name)
        return Size(width, scaled.height, *names)


def _photo_from(row: bytes) -> Photo | None:
    try:
        read = unpack(row)
        sizes = tuple(Size(**size) for size in read["sizes"])
        return Photo(sizes, int(read["width"]), int(read["height"])) if sizes else None
    except (ValueError, TypeError, KeyError):
        return None


def _read(source: Path, limits: Limits) -> bytes:
    if not os.path.lexists(source):
        raise Refused("is missing")
    if source.is_dir():
        raise Refused("is not a file")
    try:
        return read_file(source, limits.file_bytes)
    except Unreadable as error:
        if "bytes" in error.what:
            hint = "save it smaller"
            raise Refused(f"has more than {limits.file_bytes // 1024 // 1024} MiB", hint) from None
        raise Refused(
            error.what if error.what.startswith("cannot") else f"is {error.what}", error.hint
        ) from None


def _decode(data: bytes, limits: Limits) -> Image.Image:
    """The picture upright, in sRGB, on white, with nothing else in it."""
    from PIL import Image, UnidentifiedImageError

    _refuse_other_kinds(data)
    heif = _heif(data)
    with warnings.catch_warnings():
        # Pillow warns below what is taken here; _check asks for the size before anything is decoded.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            opened = Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP", *heif))
            _check(opened, limits)
            # A photo of a phone is large: let the decoder scale it down by halves as far as that is no loss.
            opened.draft("RGB", (WIDTHS[-1], WIDTHS[-1]))
            opened.load()
            return _upright(_plain(opened), opened.getexif().get(274, 1))
        except Refused:
            raise
        except Image.DecompressionBombError:
            raise Refused(*_too_many_pixels(limits.pixels)) from None
        except UnidentifiedImageError:
            raise Refused("is not a picture that can be read", "save it as JPEG, PNG or WebP") from None
        except Exception as error:  # noqa: BLE001 - a broken file may trip the decoder anywhere, in any way
            truncated = "truncated" in str(error) or "incomplete" in str(error)
            what = "is cut off before its end" if truncated else "is damaged"
            raise Refused(what, "copy it again from where it came") from None


def _refuse_other_kinds(data: bytes) -> None:
    start = data[:1024].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith((b"<svg", b"<?xml", b"<!doctype svg", b"<!--")) or b"<svg" in start:
        raise Refused("is a drawing in SVG, not a photo", "save it as PNG")
    if data[:6] in (b"GIF87a", b"GIF89a"):
        raise Refused("is a GIF, not a photo", "save it as PNG")
    if data[4:8] == b"ftyp" and data[8:12] in (b"avif", b"avis"):
        raise Refused("is an AVIF picture", "save it as JPEG")


def _heif(data: bytes) -> tuple[str, ...]:
    """The name of Pillow's format for a HEIC photo, which a package of its own reads. Raises Refused without that."""
    if data[4:8] != b"ftyp" or data[8:12] not in HEIC:
        return ()
    try:
        from pillow_heif import register_heif_opener
    except ImportError:
        hint = "save it as JPEG, or install pillow-heif beside benchlore, which reads it"
        raise Refused("is a HEIC photo, which takes another package to read", hint) from None
    register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
    return ("HEIF",)


def _check(picture: Image.Image, limits: Limits) -> None:
    width, height = picture.size
    if width * height > limits.pixels:
        raise Refused(*_too_many_pixels(limits.pixels))
    if width * height > limits.whole and picture.format == "WEBP":
        hint = "save it as JPEG"
        raise Refused(f"has more than {limits.whole / 1e6:g} million pixels, too many for a WebP", hint)
    if max(width, height) > limits.proportion * min(width, height):
        raise Refused(f"is {width} by {height} pixels, too long and narrow for a page", "crop it")
    # A camera's file may carry further pictures behind the first (MPO, HEIF): those are left out, not animated.
    if picture.format not in ("MPO", "HEIF") and getattr(picture, "n_frames", 1) > 1:
        raise Refused("moves: it has more than one picture in it", "save one of them as a photo")


def _too_many_pixels(most: int) -> tuple[str, str]:
    return f"has more than {most / 1e6:g} million pixels", "save it smaller"


def _plain(picture: Image.Image) -> Image.Image:
    """RGB pixels, nothing else: colours brought to sRGB, what is transparent laid on white, no metadata. A large picture is made smaller on the way, strip by strip: whole copies of it would take much memory."""
    from PIL import Image

    factor = max(1, min(picture.size) // WIDTHS[-1])
    width, height = -(-picture.width // factor), -(-picture.height // factor)
    plain = Image.new("RGB", (width, height))
    for top in range(0, height, STRIP):
        box = (0, top * factor, picture.width, min(picture.height, (top + STRIP) * factor))
        plain.paste(_in_rgb(picture.crop(box), picture).reduce(factor), (0, top))
    return plain


def _upright(plain: Image.Image, orientation: int) -> Image.Image:
    """The picture turned as it was held. Source: EXIF 2.32, tag Orientation (274)."""
    from PIL.Image import Transpose

    turns = {
        2: Transpose.FLIP_LEFT_RIGHT,
        3: Transpose.ROTATE_180,
        4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE,
        6: Transpose.ROTATE_270,
        7: Transpose.TRANSVERSE,
        8: Transpose.ROTATE_90,
    }
    return plain.transpose(turns[orientation]) if orientation in turns else plain


def _in_rgb(strip: Image.Image, whole: Image.Image) -> Image.Image:
    """A part of a picture in sRGB, on white."""
    from PIL import Image

    profile = whole.info.get("icc_profile")
    if strip.mode.startswith("I"):  # 16 bits of grey
        strip = strip.convert("I").point(lambda grey: grey * (1 / 256)).convert("L")
    if whole.has_transparency_data:
        strip = strip.convert("RGBA")
        strip = Image.alpha_composite(Image.new("RGBA", strip.size, "white"), strip)
    elif profile:
        strip = _in_srgb(strip, profile)
    return strip.convert("RGB")


def _in_srgb(picture: Image.Image, profile: bytes) -> Image.Image:
    """Phones save in wider colour spaces; without their profile the colours would go dull."""
    try:
        from PIL import ImageCms

        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        done = ImageCms.profileToProfile(picture, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except Exception:  # noqa: BLE001 - a broken profile, a Pillow without colour management: colours stay
        return picture
    return done or picture


def _widths(width: int) -> list[int]:
    return [size for size in WIDTHS if size < width] + ([width] if width <= WIDTHS[-1] else [])


def _key(data: bytes) -> str:
    from PIL import __version__

    return hashlib.sha256(f"{_RECIPE} {__version__} {WIDTHS}\0".encode() + data).hexdigest()[:32]


def _name(data: bytes, like: str) -> str:
    """The name of a file by its content, with the ending that like has from its last hyphen."""
    return hashlib.sha256(data).hexdigest()[:20] + like[like.rindex("-") :]


def _write(path: Path, data: bytes) -> None:
    """Write a file that is whole as soon as it has its name."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with open(handle, "wb") as file:
            file.write(data)
        os.replace(part, path)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise
