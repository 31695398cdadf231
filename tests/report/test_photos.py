"""Photos: upright, small, with nothing in them but the picture; what can't be shown stops nothing."""

from __future__ import annotations

import base64
import io
from datetime import date
from pathlib import Path

import pytest
from PIL import Image

from sitelog.fleet.workspace import load
from sitelog.report.handover import handover
from sitelog.report.handover.document import Photos
from sitelog.report.handover.page import page
from sitelog.report.photos import MOST_PIXELS, WIDEST, Shown, beside, shrunk
from tests.report.reading import Page

GPS, ORIENTATION, MAKE = 0x8825, 0x0112, 0x010F  # Exif 2.32 (JEITA CP-3451E), tables 3 and 4


def photo(path: Path, size: tuple[int, int] = (400, 300), **how: object) -> Path:
    """A photo whose left upper quarter is red."""
    picture = Image.new("RGB", size, "white")
    picture.paste("red", (0, 0, size[0] // 2, size[1] // 2))
    picture.save(path, **how)
    return path


def opened(shown: Shown) -> Image.Image:
    assert shown.reason == ""
    return Image.open(io.BytesIO(shown.data))


def is_red(picture: Image.Image, x: float, y: float) -> bool:
    red, green, blue = picture.convert("RGB").getpixel((int(picture.width * x), int(picture.height * y)))
    return red > 200 and green < 60 and blue < 60


def test_a_large_photo_becomes_small(tmp_path):
    shown = shrunk(str(photo(tmp_path / "a.jpg", (4000, 3000))))
    assert (shown.width, shown.height) == (WIDEST, 750)
    assert opened(shown).size == (WIDEST, 750)
    assert len(shown.data) < 60_000


def test_a_small_photo_stays_as_large_as_it_is(tmp_path):
    shown = shrunk(str(photo(tmp_path / "a.png")))
    assert (shown.width, shown.height) == (400, 300)
    assert shown.address == f"data:image/jpeg;base64,{base64.b64encode(shown.data).decode()}"


@pytest.mark.parametrize(
    ("orientation", "size", "corner"),
    [  # where the red corner stands once the picture is shown upright: Exif 2.32, 4.6.4, tag 274
        (1, (400, 300), (0.1, 0.1)),
        (3, (400, 300), (0.9, 0.9)),
        (6, (300, 400), (0.9, 0.1)),
        (8, (300, 400), (0.1, 0.9)),
    ],
)
def test_a_photo_stands_upright(tmp_path, orientation, size, corner):
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    shown = shrunk(str(photo(tmp_path / "a.jpg", exif=exif)))
    assert (shown.width, shown.height) == size
    assert is_red(opened(shown), *corner)
    assert not is_red(opened(shown), 1 - corner[0], 1 - corner[1])


def test_place_camera_and_comments_are_left_out(tmp_path):
    exif = Image.Exif()
    exif[MAKE] = "a camera"
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (47.0, 30.0, 0.0)
    path = photo(tmp_path / "a.jpg", exif=exif, comment=b"our secret", icc_profile=b"a profile")
    assert b"a camera" in path.read_bytes()
    assert b"our secret" in path.read_bytes()
    shown = shrunk(str(path))
    assert b"a camera" not in shown.data
    assert b"our secret" not in shown.data
    found = opened(shown)
    assert dict(found.getexif()) == {}
    assert set(found.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


@pytest.mark.parametrize("ending", ["jpg", "png", "webp", "gif", "bmp", "tiff", "mpo"])
def test_every_format_of_cameras_and_phones_is_shown(tmp_path, ending):
    shown = shrunk(str(photo(tmp_path / f"a.{ending}")))
    assert is_red(opened(shown), 0.1, 0.1)
    assert opened(shown).format == "JPEG"


def test_what_lets_something_through_stands_on_white(tmp_path):
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(tmp_path / "a.png")
    assert opened(shrunk(str(tmp_path / "a.png"))).getpixel((10, 10)) == (255, 255, 255)


def test_what_can_not_be_shown_says_why(tmp_path):
    cut = photo(tmp_path / "cut.jpg", (800, 600)).read_bytes()
    (tmp_path / "cut.jpg").write_bytes(cut[: len(cut) // 3])
    (tmp_path / "text.jpg").write_text("no photo")
    (tmp_path / "empty.jpg").write_bytes(b"")
    (tmp_path / "a.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>')
    (tmp_path / "folder.jpg").mkdir()
    reasons = {name: shrunk(str(tmp_path / name)).reason for name in (
        "cut.jpg", "text.jpg", "empty.jpg", "a.svg", "folder.jpg", "absent.jpg", "nul\0.jpg")}  # fmt: skip
    unreadable, absent = "it cannot be read as a photo", "it is not beside the log"
    assert reasons == {
        "cut.jpg": unreadable, "text.jpg": unreadable, "empty.jpg": unreadable, "a.svg": unreadable,
        "folder.jpg": absent, "absent.jpg": absent, "nul\0.jpg": absent,
    }  # fmt: skip
    assert shrunk("").reason == absent


def test_a_picture_of_too_many_pixels_is_not_decoded(tmp_path):
    side = int(MOST_PIXELS**0.5) + 10
    Image.new("1", (side, side)).save(tmp_path / "many.png")  # a few kilobytes
    assert shrunk(str(tmp_path / "many.png")).reason == f"it has too many pixels ({side} x {side})"
    Image.new("1", (14_000, 14_000)).save(tmp_path / "bomb.png")  # beyond what the library itself opens
    assert shrunk(str(tmp_path / "bomb.png")).reason == "it has too many pixels"


@pytest.mark.parametrize(
    ("log", "name", "wanted"),
    [
        ("jobs/a.site", "x.jpg", "jobs/x.jpg"),
        ("jobs/a.site", "photos/x.jpg", "jobs/photos/x.jpg"),
        ("a.site", "photos\\x.jpg", "photos/x.jpg"),
        ("jobs/a.site", "../x.jpg", ""),
        ("jobs/a.site", "photos/../../x.jpg", ""),
        ("jobs/a.site", "/etc/x.jpg", ""),
        ("-", "x.jpg", ""),
    ],
)
def test_only_what_lies_beside_the_log_is_looked_at(log, name, wanted):
    assert beside(log, name) == wanted


# ---- in the page --------------------------------------------------------------------------------------
LOG = """site a-1
crew mo lead
day 2026-03-02
09:00 defect D1 minor of frame scratched
09:01 photo "d 1.jpg" of D1 -- left foot
09:02 photo front.jpg of unit-front
09:03 photo gone.jpg of board
"""


def made(folder: Path, monkeypatch: pytest.MonkeyPatch, most: int = 12_000_000) -> tuple[Page, list[Photos]]:
    monkeypatch.setattr("sitelog.report.handover.defects.MOST_BYTES", most)
    (folder / "a.site").write_text(LOG)
    photo(folder / "d 1.jpg")
    photo(folder / "front.jpg")
    found = load([str(folder)], date(2026, 3, 2))
    of = handover(found.judged[0], found.findings, shrunk)
    return Page(page(of)), [part for s in of.sections for part in s.parts if isinstance(part, Photos)]


def test_photos_stand_with_what_they_show(tmp_path, monkeypatch):
    read, (of_defects, others) = made(tmp_path, monkeypatch)
    assert [(one.name, one.about) for one in of_defects.photos] == [("d 1.jpg", "D1 – left foot")]
    assert [(one.name, one.reason) for one in others.photos] == [
        ("front.jpg", ""), ("gone.jpg", "it is not beside the log"),
    ]  # fmt: skip
    images = [given for tag, given in read.tags if tag == "img"]
    assert [one["alt"] for one in images] == ["D1 – left foot", "unit-front"]
    assert all(str(one["src"]).startswith("data:image/jpeg;base64,") for one in images)
    assert "gone.jpg: not shown, it is not beside the log" in " ".join(read.text.split())


def test_a_page_takes_so_many_photos_and_names_the_others(tmp_path, monkeypatch):
    size = len(shrunk(str(photo(tmp_path / "x.jpg"))).data)
    read, (_, others) = made(tmp_path, monkeypatch, most=size + 10)
    assert others.photos[0].reason == "the page has no room for more photos"
    assert len([tag for tag, _ in read.tags if tag == "img"]) == 1
