"""Photos for the site: made into sizes, freed of their metadata, worked on once.

A photo comes from an untrusted note. It is decoded and encoded anew, so that nothing of the file as it came
reaches the site: no place where it was taken, no comment, no second file behind the picture.
"""

from __future__ import annotations

import hashlib
import html
import io
import json
import os
import tempfile
import warnings
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import Image

WIDTHS = (480, 960, 1600)
SHOWN_AT = "(min-width: 48rem) 44rem, 100vw"  # how wide a photo stands on the page; see photos.css
_RECIPE = 1  # to be raised when what is made of a photo changes: old entries of the cache are then left alone


class Refused(Exception):
    """A photo that cannot be taken, in words for people. what fits behind the name of the file."""

    def __init__(self, what: str, hint: str = ""):
        super().__init__(f"{what}; {hint}" if hint else what)
        self.what, self.hint = what, hint


@dataclass(frozen=True)
class Limits:
    """The most that a photo may have. pixels and proportion are checked before anything is decoded."""

    file_bytes: int = 40 * 1024 * 1024
    pixels: int = 40_000_000
    proportion: float = 10.0  # the longer side over the shorter


@dataclass(frozen=True)
class Size:
    """One size of a photo in pixels, and the names of its two files."""

    width: int
    height: int
    webp: str
    jpeg: str


@dataclass(frozen=True)
class Photo:
    """A photo as it goes on the site. sizes from small to large; width and height are the largest's."""

    sizes: tuple[Size, ...]
    width: int
    height: int

    @property
    def files(self) -> list[str]:
        """The names of all its files."""
        return [name for size in self.sizes for name in (size.webp, size.jpeg)]


class Photos:
    """The photos of a library, in a cache folder that may be deleted at any time."""

    def __init__(self, cache: Path):
        self.cache = cache

    def work(self, source: Path, limits: Limits | None = None) -> Photo:
        """The photo in its sizes, from the cache where it was worked on before.

        Raises Refused for what is no photo or too large, OSError where the cache cannot be written.
        """
        limits = limits or Limits()
        data = _read(source, limits)
        entry = self.cache / f"{_key(data)}.json"
        known = self._known(entry)
        if known is not None:
            return known
        picture = _decode(data, limits)
        sizes = tuple(self._encode(picture, width) for width in _widths(picture.width))
        photo = Photo(sizes, sizes[-1].width, sizes[-1].height)
        _write(entry, json.dumps(asdict(photo)).encode())
        return photo

    def html(self, photo: Photo, alt: str, caption: str, base: str = "") -> str:
        """A figure. A tap opens the largest picture by itself, where fingers can zoom; back returns.

        alt and caption are plain text; base is what stands before the names of the files ("../photos/").
        Raises Refused without alt: a photo needs words for those who cannot see it.
        """
        said = f"<figcaption>{html.escape(caption)}</figcaption>" if caption.strip() else ""
        return f'<figure class="photo">{picture_html(photo, alt, base)}{said}</figure>\n'

    def place(self, photo: Photo, folder: Path) -> None:
        """Copy the files of a photo into a folder of the site. Raises OSError."""
        folder.mkdir(parents=True, exist_ok=True)
        for name in photo.files:
            if not (folder / name).exists():
                (folder / name).write_bytes((self.cache / name).read_bytes())

    def prune(self, keep: set[str]) -> None:
        """Delete what the cache holds of photos other than those whose files are named."""
        for entry in list(self.cache.glob("*.json")):
            known = self._known(entry)
            if known is None or not keep.intersection(known.files):
                entry.unlink(missing_ok=True)
        for path in [*self.cache.glob("*.webp"), *self.cache.glob("*.jpg"), *self.cache.glob("*.part")]:
            if path.name not in keep:
                path.unlink(missing_ok=True)

    def _known(self, entry: Path) -> Photo | None:
        """What the cache says; None where it is incomplete or was meddled with."""
        try:
            read = json.loads(entry.read_bytes())
            sizes = tuple(Size(**size) for size in read["sizes"])
            photo = Photo(sizes, int(read["width"]), int(read["height"]))
            whole = all(_name((self.cache / name).read_bytes(), name) == name for name in photo.files)
        except (OSError, ValueError, TypeError, KeyError, AttributeError):
            return None
        return photo if whole and sizes else None

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
            _write(self.cache / name, out.getvalue())
            names.append(name)
        return Size(width, scaled.height, *names)


def picture_html(photo: Photo, alt: str, base: str = "") -> str:
    """The picture and the link to the large one, without a figure around it. As Photos.html."""
    if not alt.strip():
        raise Refused("has no words for those who cannot see it", "say what it shows")
    smallest, largest = photo.sizes[0], photo.sizes[-1]

    def srcset(kind: str) -> str:
        return ", ".join(f"{html.escape(base)}{getattr(size, kind)} {size.width}w" for size in photo.sizes)

    return (
        f'<a class="enlarge" href="{html.escape(base + largest.jpeg)}"><picture>'
        f'<source type="image/webp" srcset="{srcset("webp")}" sizes="{SHOWN_AT}">'
        f'<img src="{html.escape(base + smallest.jpeg)}" srcset="{srcset("jpeg")}" sizes="{SHOWN_AT}" '
        f'width="{photo.width}" height="{photo.height}" alt="{html.escape(alt.strip())}" '
        f'loading="lazy" decoding="async"></picture></a>'
    )


def _read(source: Path, limits: Limits) -> bytes:
    if not source.is_file():
        raise Refused("is missing" if not source.exists() else "is no file")
    try:
        with source.open("rb") as file:
            data = file.read(limits.file_bytes + 1)
    except OSError as error:
        raise Refused(f"cannot be read: {error.strerror}") from None
    if len(data) > limits.file_bytes:
        raise Refused(f"has more than {limits.file_bytes // 1024 // 1024} MiB", "save it smaller")
    return data


def _decode(data: bytes, limits: Limits) -> Image.Image:
    """The picture upright, in sRGB, on white, with nothing else in it."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    _refuse_other_kinds(data)
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            opened = Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP"))
            _check(opened, limits)
            # A photo of a phone is large: let the decoder scale it down by halves as far as that is no loss.
            opened.draft("RGB", (WIDTHS[-1], WIDTHS[-1]))
            opened.load()
            return _plain(ImageOps.exif_transpose(opened))
        except Refused:
            raise
        except (Image.DecompressionBombWarning, Image.DecompressionBombError):
            raise Refused(*_too_many_pixels(limits)) from None
        except UnidentifiedImageError:
            raise Refused("is no picture that can be read", "save it as JPEG, PNG or WebP") from None
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
    if data[4:8] == b"ftyp" and data[8:12] in (b"heic", b"heix", b"mif1", b"msf1", b"hevc", b"avif", b"avis"):
        raise Refused("is a HEIC or AVIF picture, which not everything can show", "save it as JPEG")


def _check(picture: Image.Image, limits: Limits) -> None:
    width, height = picture.size
    if width * height > limits.pixels:
        raise Refused(*_too_many_pixels(limits))
    if max(width, height) > limits.proportion * min(width, height):
        raise Refused(f"is {width} by {height} pixels, too long and narrow for a page", "crop it")
    # A camera's JPEG may carry further pictures behind the first (MPO): those are left out, not animated.
    if picture.format != "MPO" and getattr(picture, "n_frames", 1) > 1:
        raise Refused("moves: it has more than one picture in it", "save one of them as a photo")


def _too_many_pixels(limits: Limits) -> tuple[str, str]:
    return f"has more than {limits.pixels / 1e6:g} million pixels", "save it smaller"


def _plain(picture: Image.Image) -> Image.Image:
    """RGB pixels, nothing else: colours brought to sRGB, what is transparent laid on white, no metadata."""
    from PIL import Image

    profile = picture.info.get("icc_profile")
    if picture.mode.startswith("I"):  # 16 bits of grey
        picture = picture.convert("I").point(lambda grey: grey * (1 / 256)).convert("L")
    if picture.has_transparency_data:
        picture = picture.convert("RGBA")
        ground = Image.new("RGBA", picture.size, "white")
        picture = Image.alpha_composite(ground, picture)
    elif profile:
        picture = _in_srgb(picture, profile)
    plain = Image.new("RGB", picture.size)
    plain.paste(picture.convert("RGB"))
    return plain


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
