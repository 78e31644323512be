"""Photos: sizes, what is taken out of them, what is refused, and boards in a real browser."""

from __future__ import annotations

import io
import os
import sqlite3
import struct
import subprocess
import sys
import zlib
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, PngImagePlugin

from generator.build.photos import Damaged, Limits, Photos
from generator.cache import FILE, Cache
from generator.notes.record import Mark
from generator.pages.boards import BoardView, board_view
from generator.pages.theme import Theme
from generator.prose.photos import Photo, Refused, Size

STATIC = Path(__file__).parents[2] / "themes" / "bench" / "static"
HOME = "52 deg 31 min north"


@pytest.fixture
def photos(tmp_path: Path) -> Photos:
    return photos_in(tmp_path / "cache")


def photos_in(folder: Path) -> Photos:
    folder.mkdir(exist_ok=True)
    return Photos(Cache(folder))


def picture(width: int, height: int, mode: str = "RGB") -> Image.Image:
    """A picture with a red upper left quarter on grey."""
    made = Image.new("RGB", (width, height), (128, 128, 128))
    made.paste((220, 0, 0), (0, 0, width // 2, height // 2))
    return made.convert(mode)


def save(path: Path, made: Image.Image, **options: object) -> Path:
    made.save(path, **options)
    return path


def segments(data: bytes) -> list[int]:
    """The markers of a JPEG up to its scan. Source: ITU-T T.81, annex B (marker, length)."""
    found, at = [], 2
    while data[at + 1] != 0xDA:
        found.append(data[at + 1])
        at += 2 + struct.unpack(">H", data[at + 2 : at + 4])[0]
    return found


def chunks(data: bytes) -> list[bytes]:
    """The chunks of a WebP. Source: the WebP container specification (RIFF: name, length, data, even)."""
    found, at = [], 12
    while at < len(data):
        found.append(data[at : at + 4])
        length = struct.unpack("<I", data[at + 4 : at + 8])[0]
        at += 8 + length + length % 2
    return found


# Sizes


@pytest.mark.parametrize(
    ("width", "height", "sizes"),
    [
        (300, 200, [(300, 200)]),
        (480, 360, [(480, 360)]),
        (700, 350, [(480, 240), (700, 350)]),
        (1600, 1200, [(480, 360), (960, 720), (1600, 1200)]),
        (4000, 3000, [(480, 360), (960, 720), (1600, 1200), (2560, 1920)]),
        (1, 1, [(1, 1)]),
    ],
)
def test_sizes_are_never_scaled_up(
    photos: Photos, tmp_path: Path, width: int, height: int, sizes: list[tuple[int, int]]
) -> None:
    photo = photos.work(save(tmp_path / "a.jpg", picture(width, height)))
    assert [(size.width, size.height) for size in photo.sizes] == sizes
    assert (photo.width, photo.height) == sizes[-1]
    for size in photo.sizes:
        for name, kind in ((size.webp, "WEBP"), (size.jpeg, "JPEG")):
            with Image.open(photos.folder / name) as made:
                assert (made.format, made.size) == (kind, (size.width, size.height))


# Source: EXIF 2.32, tag Orientation (274): which side of the picture row 0 and column 0 of the file are.
# With a red upper left quarter in the file, red must come to lie in this corner.
CORNERS = {1: "nw", 2: "ne", 3: "se", 4: "sw", 5: "nw", 6: "ne", 7: "se", 8: "sw"}


@pytest.mark.parametrize("orientation", CORNERS)
def test_orientation_is_respected(photos: Photos, tmp_path: Path, orientation: int) -> None:
    exif = Image.Exif()
    exif[274] = orientation
    photo = photos.work(save(tmp_path / "a.jpg", picture(400, 200), exif=exif))
    assert (photo.width, photo.height) == ((400, 200) if orientation < 5 else (200, 400))
    with Image.open(photos.folder / photo.sizes[0].jpeg) as made:
        near, far = 0.25, 0.75
        points = {"nw": (near, near), "ne": (far, near), "sw": (near, far), "se": (far, far)}
        red = [
            c
            for c, (x, y) in points.items()
            if made.getpixel((int(x * made.width), int(y * made.height)))[1] < 60
        ]
    assert red == [CORNERS[orientation]]


def test_nothing_of_the_metadata_is_left(photos: Photos, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x010E] = HOME  # ImageDescription
    exif.get_ifd(0x8825)[1] = "N"  # GPSLatitudeRef
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 0.0)
    xmp = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{HOME}</x:xmpmeta>".encode()
    text = PngImagePlugin.PngInfo()
    text.add_text("Comment", HOME)
    sources = [
        save(tmp_path / "a.jpg", picture(600, 400), exif=exif, comment=HOME, xmp=xmp),
        save(tmp_path / "a.png", picture(600, 400), exif=exif, pnginfo=text),
        save(tmp_path / "a.webp", picture(600, 400), exif=exif, xmp=xmp),
    ]
    for source in sources:
        assert HOME.encode() in source.read_bytes()
        photo = photos.work(source)
        for size in photo.sizes:
            jpeg, webp = (photos.folder / size.jpeg).read_bytes(), (photos.folder / size.webp).read_bytes()
            assert HOME.encode() not in jpeg + webp
            # APP0 (JFIF), tables, frame; no APP1..APP15 (Exif, XMP, profiles), no comment
            assert not [marker for marker in segments(jpeg) if 0xE1 <= marker <= 0xEF or marker == 0xFE]
            assert chunks(webp) == [b"VP8 "]


def test_what_hides_behind_the_picture_is_left_behind(photos: Photos, tmp_path: Path) -> None:
    source = save(tmp_path / "a.jpg", picture(600, 400))
    source.write_bytes(source.read_bytes() + b"PK\x03\x04<script>alert(1)</script>")
    for name in photos.work(source).files:
        assert b"script" not in (photos.folder / name).read_bytes()


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "LA", "CMYK", "1", "I;16"])
def test_every_kind_of_pixel(photos: Photos, tmp_path: Path, mode: str) -> None:
    if mode == "I;16":
        made = Image.new("I;16", (64, 64), 128 * 256)
    elif mode == "P":
        made = picture(64, 64).quantize(4)
    else:
        made = picture(64, 64, mode)
    source = save(tmp_path / ("a.jpg" if mode == "CMYK" else "a.png"), made)
    with Image.open(photos.folder / photos.work(source).sizes[0].jpeg) as done:
        assert done.mode == "RGB"
        red, green, blue = done.getpixel((50, 50))
    if mode != "1":
        assert all(abs(channel - 128) < 12 for channel in (red, green, blue))


def test_what_is_transparent_lies_on_white(photos: Photos, tmp_path: Path) -> None:
    source = save(tmp_path / "a.png", Image.new("RGBA", (64, 64), (0, 0, 0, 0)))
    with Image.open(photos.folder / photos.work(source).sizes[0].jpeg) as done:
        assert min(done.getpixel((32, 32))) > 250


def test_a_camera_file_with_a_second_picture_is_a_photo(photos: Photos, tmp_path: Path) -> None:
    source = save(
        tmp_path / "a.jpg", picture(600, 400), format="MPO", save_all=True, append_images=[picture(60, 40)]
    )
    assert photos.work(source).width == 600


# The cache


def test_a_photo_is_worked_on_once(photos: Photos, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = save(tmp_path / "a.jpg", picture(600, 400))
    first = photos.work(source)
    renamed = source.rename(tmp_path / "b.jpg")
    monkeypatch.setattr(Image, "open", lambda *args, **kwargs: pytest.fail("decoded a second time"))
    assert photos.work(renamed) == first


@pytest.mark.parametrize("harm", ["gone", "cut", "swapped", "entry"])
def test_a_harmed_cache_is_mended(photos: Photos, tmp_path: Path, harm: str) -> None:
    source = save(tmp_path / "a.jpg", picture(600, 400))
    first = photos.work(source)
    victim = photos.folder / first.sizes[0].webp
    whole = victim.read_bytes()
    if harm == "gone":
        victim.unlink()
    elif harm == "cut":
        victim.write_bytes(whole[:100])
    elif harm == "swapped":
        victim.write_bytes((photos.folder / first.sizes[0].jpeg).read_bytes())
    else:
        photos.rows.flush()
        with closing(sqlite3.connect(photos.rows.folder / FILE)) as db, db:
            db.execute("update photos set data = ?", (b'{"sizes": 3',))
    assert photos.work(source) == first
    assert victim.read_bytes() == whole


def test_same_photo_same_bytes(tmp_path: Path) -> None:
    source = save(tmp_path / "a.jpg", picture(1700, 900))
    one, two = photos_in(tmp_path / "one"), photos_in(tmp_path / "two")
    assert one.work(source) == two.work(source)
    for name in one.work(source).files:
        assert (one.folder / name).read_bytes() == (two.folder / name).read_bytes()


def test_pruning_keeps_what_is_named(photos: Photos, tmp_path: Path) -> None:
    kept = photos.work(save(tmp_path / "a.png", picture(50, 40)))
    gone = photos.work(save(tmp_path / "b.png", picture(60, 40)))
    photos.prune(set(kept.files))
    left = {path.name for path in photos.folder.iterdir()}
    assert set(kept.files) <= left and not left.intersection(gone.files)
    assert len(left) == len(kept.files) and len(photos.rows.all("photos")) == 1


# What is refused


def png_header(width: int, height: int) -> bytes:
    """A PNG that says how large it is and has no pixels. Source: PNG specification, IHDR, IDAT."""
    made = b"\x89PNG\r\n\x1a\n"
    for name, data in (
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)),
        (b"IDAT", b"\x78\x9c"),
    ):
        made += struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
    return made


def webp_header(width: int, height: int) -> bytes:
    """A lossless WebP that says how large it is. Source: WebP lossless bitstream specification, section 3."""
    bits = (width - 1) | (height - 1) << 14
    image = b"\x2f" + struct.pack("<I", bits) + bytes(8)
    chunk = b"VP8L" + struct.pack("<I", len(image)) + image + bytes(len(image) % 2)
    return b"RIFF" + struct.pack("<I", 4 + len(chunk)) + b"WEBP" + chunk


def gif() -> bytes:
    out = io.BytesIO()
    picture(20, 20, "P").save(out, "GIF")
    return out.getvalue()


def moving(kind: str) -> bytes:
    out = io.BytesIO()
    picture(20, 20).save(out, kind, save_all=True, append_images=[Image.new("RGB", (20, 20))], duration=100)
    return out.getvalue()


def cut(kind: str) -> bytes:
    out = io.BytesIO()
    Image.effect_noise((600, 400), 80).convert("RGB").save(out, kind)
    return out.getvalue()[: len(out.getvalue()) // 2]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "not a picture"),
        (b"not a picture at all", "not a picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "SVG"),
        (b"\xef\xbb\xbf<?xml version='1.0'?><svg/>", "SVG"),
        (b"<!-- x --><svg/>", "SVG"),
        (b"%PDF-1.4", "not a picture"),
        (gif(), "GIF"),
        (b"\0\0\0\x18ftypavif", "AVIF"),
        (moving("WEBP"), "moves"),
        (moving("PNG"), "moves"),
        (cut("JPEG"), "cut off"),
        (cut("PNG"), "cut off"),
        (cut("WEBP"), ""),
        (png_header(10_100, 10_000), "100 million pixels"),
        (png_header(20_000, 20_000), "100 million pixels"),
        (png_header(100_000, 100_000), "100 million pixels"),
        (webp_header(6400, 6400), "40 million pixels, too many for a WebP"),
        (png_header(20_000, 100), "too long and narrow"),
        (png_header(40, 40), ""),
        (b"II*\0" + bytes(200), "not a picture"),
        (b"\xff\xd8\xff\xe0" + bytes(200), ""),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_refusals(photos: Photos, tmp_path: Path, data: bytes, said: str) -> None:
    source = tmp_path / "a.jpg"
    source.write_bytes(data)
    with pytest.raises(Refused) as refused:
        photos.work(source)
    assert said in refused.value.what
    assert not photos.folder.exists() or not list(photos.folder.iterdir())


def test_files_that_are_none_or_too_large_are_refused(photos: Photos, tmp_path: Path) -> None:
    with pytest.raises(Refused, match="is missing"):
        photos.work(tmp_path / "gone.jpg")
    with pytest.raises(Refused, match="is not a file"):
        photos.work(tmp_path)
    source = save(tmp_path / "a.png", picture(20, 20))
    with pytest.raises(Refused, match="has more than 0 MiB"):
        photos.work(source, Limits(file_bytes=50))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes and links as POSIX has them")
def test_what_is_no_ordinary_file_is_refused_at_once(photos: Photos, tmp_path: Path) -> None:
    """A pipe does not hang, a link is not followed, a file of 3 GiB without anything in it takes no memory."""
    save(tmp_path / "a.png", picture(20, 20))
    (tmp_path / "link.png").symlink_to(tmp_path / "a.png")
    os.mkfifo(tmp_path / "pipe.png")
    (tmp_path / "sparse.png").touch()
    os.truncate(tmp_path / "sparse.png", 3 << 30)
    for name, said in (
        ("link", "symbolic link"),
        ("pipe", "not an ordinary file"),
        ("sparse", "more than 64 MiB"),
    ):
        with pytest.raises(Refused, match=said):
            photos.work(tmp_path / f"{name}.png")


def test_a_damaged_file_is_never_handed_out(photos: Photos, tmp_path: Path) -> None:
    photo = photos.work(save(tmp_path / "a.png", picture(20, 20)))
    for name in photo.files:
        assert photos.read(name) == (photos.folder / name).read_bytes()
        (photos.folder / name).write_bytes(b"\xff" + photos.read(name)[1:-1])
        with pytest.raises(Damaged):
            photos.read(name)


@pytest.mark.skipif(
    not Path("/proc/self/status").is_file(), reason="needs the peak of memory as Linux tells it"
)
@pytest.mark.parametrize(
    ("kind", "least", "bound"),
    [
        ("png", 6300, 2 * 6300 * 6300 * 4),
        pytest.param("png", 9990, 1.5 * 9990 * 9990 * 4, marks=pytest.mark.slow),
        ("jpeg", 9990, 9990 * 9990 * 4),
    ],
)
def test_a_large_picture_takes_no_more_than_its_pixels(
    tmp_path: Path, kind: str, least: int, bound: float
) -> None:
    """A PNG with the most that a pixel can have is held once, at 4 bytes a pixel; of a JPEG a quarter, and what Python takes."""
    source = tmp_path / f"a.{kind}"
    if kind == "png":
        source.write_bytes(deep_png(least, least))
    else:
        Image.new("RGB", (least, least), "teal").save(source, quality=30)
    code = (
        "import re, sys\nfrom pathlib import Path\nfrom generator.build.photos import Photos\n"
        "from generator.cache import Cache\nphoto = Photos(Cache(Path(sys.argv[1]))).work(Path(sys.argv[2]))\n"
        "print(photo.width, photo.height, re.search(r'VmHWM:\\s*(\\d+)', Path('/proc/self/status').read_text())[1])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path), str(source)], capture_output=True, text=True, check=True
    )
    width, height, peak = map(int, done.stdout.split())
    assert (width, height) == (2560, 2560)
    assert peak * 1024 < bound, f"{peak} KiB"


def heic(orientation: int = 1) -> bytes:
    """A HEIC photo, 96 by 48, red at the left and blue at the right, as x265 encodes it."""
    heif = pytest.importorskip("pillow_heif")
    picture = Image.new("RGB", (96, 48), "blue")
    picture.paste("red", (0, 0, 48, 48))
    exif = Image.Exif()
    exif[274], exif[270] = orientation, "taken at the corner bench"
    out = io.BytesIO()
    heif.from_pillow(picture).save(out, exif=exif.tobytes())
    return out.getvalue()


@pytest.mark.parametrize(("orientation", "size"), [(1, (96, 48)), (6, (48, 96))])
def test_a_heic_photo_is_read_where_its_package_is_there(
    photos: Photos, tmp_path: Path, orientation: int, size: tuple[int, int]
) -> None:
    """Turned once, as it was held (EXIF 2.32, 274 = 6: the top of the scene is at the right), and without its words."""
    (tmp_path / "a.heic").write_bytes(heic(orientation))
    photo = photos.work(tmp_path / "a.heic")
    assert (photo.width, photo.height) == size
    made = Image.open(io.BytesIO(photos.read(photo.sizes[-1].jpeg)))
    red, green, blue = made.convert("RGB").getpixel((8, 8))
    assert red > 180 and green < 90 and blue < 90
    assert all(b"corner bench" not in photos.read(name) for name in photo.files)


def test_a_heic_photo_without_that_package_is_told(
    photos: Photos, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    (tmp_path / "a.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(40))
    with pytest.raises(Refused, match="is a HEIC photo.*save it as JPEG, or install pillow-heif"):
        photos.work(tmp_path / "a.heic")


def deep_png(width: int, height: int) -> bytes:
    """A PNG of 16 bits a channel with transparency. Source: PNG specification, colour type 6."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    packer, rows = zlib.compressobj(1), bytearray()
    for _row in range(height):
        rows += packer.compress(bytes(1 + 8 * width))
    rows += packer.flush()
    head = struct.pack(">IIBBBBB", width, height, 16, 6, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", bytes(rows)) + chunk(b"IEND", b"")


# HTML

PHOTO = Photo(
    (Size(480, 320, "a-480.webp", "a-480.jpg"), Size(960, 640, "a-960.webp", "a-960.jpg")), 960, 640
)


def figure(photo: Photo, alt: str, caption: str) -> str:
    return Theme().render("_photo.html", photo=photo, alt=alt, caption=caption, base="../photos/")


def test_figure() -> None:
    made = figure(PHOTO, 'The "board" <top>', "C3 & R9")
    assert 'srcset="../photos/a-480.webp 480w, ../photos/a-960.webp 960w"' in made
    assert 'srcset="../photos/a-480.jpg 480w, ../photos/a-960.jpg 960w"' in made
    assert (
        'width="960" height="640" alt="The &#34;board&#34; &lt;top&gt;" loading="lazy" decoding="async"'
        in made
    )
    assert '<a class="enlarge" href="../photos/a-960.jpg">' in made
    assert "<figcaption>C3 &amp; R9</figcaption>" in made


@pytest.mark.parametrize(("x", "y"), [(-1.0, 50.0), (50.0, 101.0), (float("nan"), 1.0)])
def test_marks_outside_are_refused(x: float, y: float) -> None:
    with pytest.raises(Refused, match="the mark of C3 at .* lies outside"):
        board_view(PHOTO, PHOTO, [Mark("C3", "top", x, y)], "caption", "board-1")


# Boards in a browser


def board_figure(board: BoardView) -> str:
    module = Theme().environment.get_template("_board.html").module
    return str(module.board_figure(board, ""))


@pytest.fixture
def page(tmp_path: Path, request: pytest.FixtureRequest, browser: Any) -> Iterator[object]:
    """A page with a board under a strict policy, opened from the folder; without scripts if asked so."""
    photos = photos_in(tmp_path / "cache")
    photo = photos.work(save(tmp_path / "a.png", picture(600, 400)))
    (tmp_path / "site").mkdir()
    for name in photo.files:
        (tmp_path / "site" / name).write_bytes(photos.read(name))
    for name in ("photos.css", "board.js"):
        (tmp_path / "site" / name).write_bytes((STATIC / name).read_bytes())
    marks = [Mark("C3", "top", 20, 30), Mark("<R9>", "bottom", 25, 75), Mark("U1", "top", 2, 2)]
    (tmp_path / "site" / "index.html").write_text(
        "<!doctype html><meta charset=utf-8><title>t</title>"
        "<meta http-equiv=Content-Security-Policy content=\"default-src 'none'; img-src 'self'; "
        "style-src 'self'; script-src 'self'\"><link rel=stylesheet href=photos.css><script src=board.js defer></script>"
        + board_figure(board_view(photo, photo, marks, "The controller", "board-1"))
    )
    without = {} if getattr(request, "param", True) else {"java_script_enabled": False}
    with closing(browser.new_page(viewport={"width": 800, "height": 900}, **without)) as opened:
        opened.said = []
        opened.on("console", lambda message: opened.said.append(message.text))
        opened.goto((tmp_path / "site" / "index.html").as_uri())
        yield opened


@pytest.mark.browser
def test_board_is_laid_over_and_fades(page: object) -> None:
    top, bottom = page.locator(".board-top img"), page.locator(".board-bottom img")
    assert top.bounding_box() == bottom.bounding_box()
    side = page.locator(".board-bottom")
    assert float(side.evaluate("e => getComputedStyle(e).opacity")) == 0
    slider = page.get_by_role("slider")
    slider.focus()
    page.keyboard.press("End")
    assert float(side.evaluate("e => getComputedStyle(e).opacity")) == 1
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    assert float(side.evaluate("e => getComputedStyle(e).opacity")) == pytest.approx(0.05)
    assert page.said == []


@pytest.mark.browser
def test_marks_lie_where_the_photo_says_and_bottom_is_mirrored(page: object) -> None:
    box = page.locator(".board-top img").bounding_box()

    def share(part: str) -> tuple[float, float]:
        mark = page.locator(f'[data-ref="{part}"] circle.under').bounding_box()
        x, y = mark["x"] + mark["width"] / 2, mark["y"] + mark["height"] / 2
        return (x - box["x"]) / box["width"], (y - box["y"]) / box["height"]

    assert share("C3") == pytest.approx((0.20, 0.30), abs=0.005)
    assert share("<R9>") == pytest.approx((1 - 0.25, 0.75), abs=0.005)
    # The letters are turned back: what is drawn of them still runs from left to right.
    turned = page.locator('[data-ref="<R9>"] text').evaluate("e => e.getScreenCTM().a")
    assert turned > 0
    assert page.locator('[data-ref="U1"] text').bounding_box()["x"] > box["x"]


@pytest.mark.browser
@pytest.mark.parametrize("page", [False], indirect=True)
def test_without_scripts_both_sides_stand_side_by_side(page: object) -> None:
    top, bottom = (page.locator(f".board-{side} img").bounding_box() for side in ("top", "bottom"))
    assert top["x"] + top["width"] <= bottom["x"] and top["y"] == bottom["y"]
    assert not page.locator(".board-slider").is_visible()


@pytest.mark.browser
def test_a_tap_opens_the_large_picture_and_back_returns(page: object) -> None:
    before = page.url
    page.locator(".board-top .enlarge").click()
    page.wait_for_url("**/*.jpg")
    page.go_back()
    assert page.url == before
