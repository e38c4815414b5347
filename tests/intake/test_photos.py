"""A copy shows what the photo shows and says nothing else; a photo finds its run by its time, or is asked about."""

from __future__ import annotations

import io
import random
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageCms

from compliance.intake import photos
from compliance.intake.photos import LONGEST, Photo, Placed, copy_for_pages, look_at, photos_for, photos_in, place
from compliance.records.state import State

from . import taking
from .making import NIGHT, NOW, Pages, pages
from .taking import MAKER, WORDS, exif, photo, picture

DENVER = timezone(timedelta(hours=-6))
TAKEN = datetime(2026, 9, 14, 22, 5, tzinfo=DENVER)


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def red(image: Image.Image, x: int, y: int) -> bool:
    r, g, b = image.convert("RGB").getpixel((x, y))  # type: ignore[misc]
    return bool(r > 180 and g < 90 and b < 90)


@pytest.mark.parametrize("kind", ["JPEG", "HEIF", "WEBP", "PNG"])
def test_the_copy_is_upright_and_says_nothing_beside_its_pixels(kind: str) -> None:
    """Position, device and time are in the original and in no byte of the copy."""
    more = {"quality": 95} if kind != "PNG" else {}
    original = photo(kind, exif(TAKEN, turned=6), **more)
    assert MAKER.encode() in original
    copy = copy_for_pages(original)
    image = opened(copy)
    assert (image.format, image.size) == ("JPEG", (240, 320))
    assert red(image, 230, 10) and not red(image, 10, 310)  # the red corner went to the upper right
    assert dict(image.getexif()) == {} and set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    for word in (*WORDS, "Exif", "GPS", "2026", "xmp", "ICC"):
        assert word.encode() not in copy


def test_other_words_of_a_photo_stay_behind_too() -> None:
    """Comments, XMP, colour profiles, thumbnails and whatever is hung on behind the picture."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes().replace(b"sRGB", b"Quoll profile"[:4])
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/">Quoll remark</x:xmpmeta>'
    made = photo("JPEG", exif(TAKEN), comment=b"Quoll remark", icc_profile=profile, xmp=xmp) + b"Quoll remark"
    copy = copy_for_pages(made)
    assert b"Quoll" in made and b"Quoll" not in copy and b"ICC_PROFILE" not in copy and b"xmp" not in copy
    text = io.BytesIO()
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_text("Author", "Quoll remark")
    picture().save(text, "PNG", pnginfo=info)
    assert b"Quoll" in text.getvalue() and b"Quoll" not in copy_for_pages(text.getvalue())


def test_colours_of_a_profile_are_kept_where_it_can_be_read() -> None:
    """A broken profile leaves the colours as they stand."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for said in (profile, b"no profile"):
        image = opened(copy_for_pages(photo("JPEG", icc_profile=said, quality=95)))
        assert red(image, 5, 5) and not red(image, 200, 200)


@pytest.mark.parametrize(
    ("mode", "kind"), [("L", "PNG"), ("P", "PNG"), ("RGBA", "PNG"), ("LA", "PNG"), ("CMYK", "JPEG"), ("I;16", "PNG")]
)
def test_pictures_of_every_kind_of_colour_are_shown(mode: str, kind: str) -> None:
    """What is clear becomes white."""
    made = Image.new(mode, (40, 30))
    image = opened(copy_for_pages(photo(kind, made=made)))
    assert image.mode == "RGB" and image.size == (40, 30)
    if "A" in mode:
        assert image.getpixel((5, 5)) == (255, 255, 255)


def test_a_large_photo_is_made_small_enough_and_a_small_one_is_not_made_larger() -> None:
    """The longer side has at most so many pixels."""
    assert opened(copy_for_pages(photo(made=picture(4000, 3000)))).size == (LONGEST, LONGEST * 3 // 4)
    assert opened(copy_for_pages(photo(made=picture(30, 40)))).size == (30, 40)


def test_the_same_photo_gives_the_same_copy() -> None:
    """So that its hash says what it is a copy of."""
    original = photo("JPEG", exif(TAKEN))
    assert copy_for_pages(original) == copy_for_pages(original)


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"<svg/>", b"\xff\xd8\xff\xe0 not much of a picture", photo()[:600]])
def test_what_is_no_photo_is_told(data: bytes) -> None:
    """Neither another kind of picture nor half of one is taken."""
    with pytest.raises(ValueError, match="it is no photo that can be read"):
        copy_for_pages(data)


def test_a_photo_of_too_many_pixels_is_not_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    """A small file may claim a picture that fills the memory."""
    bomb = io.BytesIO()
    Image.new("1", (20_000, 9_000)).save(bomb, "PNG")
    assert len(bomb.getvalue()) < 100_000
    with pytest.raises(ValueError, match="it has too many pixels"):
        copy_for_pages(bomb.getvalue())
    monkeypatch.setattr(photos, "MOST_PIXELS", 100)
    with pytest.raises(ValueError, match="it has too many pixels"):
        copy_for_pages(photo())


def test_broken_bytes_end_in_one_kind_of_error() -> None:
    """Whatever is flipped in a photo of each kind."""
    dice = random.Random(7)
    for kind in ("JPEG", "PNG", "WEBP", "HEIF"):
        whole = photo(kind, exif(TAKEN))
        for _ in range(40):
            data = bytearray(whole)
            for _ in range(dice.randint(1, 12)):
                data[dice.randrange(len(data))] = dice.randrange(256)
            try:
                assert opened(copy_for_pages(bytes(data))).format == "JPEG"
            except ValueError as error:
                assert str(error).startswith("it ")


# ---- looking at files ----------------------------------------------------------------------------------------


def kept(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("kind", ["JPEG", "HEIF"])
def test_the_time_is_that_of_the_shutter_where_the_phone_was(kind: str, tmp_path: Path) -> None:
    """With its own offset; without one it is a time of the place."""
    path = kept(tmp_path, "a", photo(kind, exif(TAKEN)))
    assert look_at(path, UTC).taken == TAKEN
    unzoned = kept(tmp_path, "b", photo(kind, exif(TAKEN, offset=False)))
    assert look_at(unzoned, DENVER).taken == TAKEN
    assert look_at(unzoned, UTC).taken == TAKEN.replace(tzinfo=UTC)


def test_a_photo_without_its_own_time_has_that_of_its_file(tmp_path: Path) -> None:
    """Where neither is there, or it is no time, it has none."""
    changed = kept(tmp_path, "a", photo(said=exif(None, x0132="2026:09:14 22:05:00")))
    assert look_at(changed, DENVER).taken == TAKEN
    for said in (None, exif(), exif(None, x0132="2026:13:99 22:05:00"), exif(None, x0132="    ")):
        assert look_at(kept(tmp_path, "b", photo(said=said)), UTC).taken is None


def test_files_that_cannot_be_taken_say_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Empty, broken, gone, too large."""
    assert look_at(kept(tmp_path, "a", b""), UTC).fault == "it is empty"
    assert look_at(kept(tmp_path, "b", b"nothing"), UTC).fault == "it is no photo that can be read"
    assert look_at(tmp_path / "gone", UTC).fault.startswith("it cannot be read: ")
    monkeypatch.setattr(photos, "LARGEST", 10)
    assert look_at(kept(tmp_path, "c", photo()), UTC).fault == "it is larger than 0 MB"


def test_photos_of_a_folder_are_taken_by_name_and_the_rest_is_counted(tmp_path: Path) -> None:
    """Hidden files are nobody's business; folders in it are not read."""
    for name in ("b.HEIC", "a.jpg", "c.jpeg", "notes.txt", ".hidden.jpg", "film.mp4"):
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / "more.jpg").mkdir()
    found, others = photos_in(tmp_path)
    assert [path.name for path in found] == ["a.jpg", "b.HEIC", "c.jpeg"]
    assert others == 2


# ---- where they belong ---------------------------------------------------------------------------------------

HERON = {"rig": "Little Heron", "lead": "Tom Adlow", "date": "2026-09-14", "where": "aboard"}


def state(made: Pages) -> State:
    found = made.state
    assert found is not None
    return found


def taken(at: str | None, sha: str = "a" * 64, fault: str = "") -> Photo:
    moment = None if at is None else datetime.fromisoformat(at).replace(tzinfo=DENVER)
    return Photo(Path("a.jpg"), sha, 5, moment, fault)


def placed(made: Pages, *shots: Photo, run: str = "") -> list[Placed]:
    return place(shots, state(made), run)


def told(found: list[Placed]) -> list[tuple[str, str, str]]:
    return [(one.outcome, one.run, one.line) for one in found]


def test_a_photo_belongs_to_the_run_and_stop_of_its_time() -> None:
    """Within a stop to the stop; up to an hour before and after to the run."""
    made = pages(NIGHT)
    ref = "2026-09-14-big-blue"
    times = ("2026-09-14T22:00", "2026-09-14T23:50", "2026-09-14T20:10", "2026-09-15T06:00")
    found = placed(made, *(taken(at, str(n) * 64) for n, at in enumerate(times)))
    assert told(found) == [("matched", ref, "2"), *[("matched", ref, "")] * 3]
    for at in ("2026-09-14T19:50", "2026-09-15T06:20"):
        (one,) = placed(made, taken(at))
        assert one.outcome == "no run" and one.because.startswith("no run was out at 2026-09-1")


def test_two_rigs_out_at_once_are_not_chosen_between() -> None:
    """Unless only one of them has times, or the run is named."""
    stop = {"line": "stop", "site": "Pier", "arrived": "21:30", "left": "23:00"}
    both = pages(NIGHT, {**HERON, "start": "21:00", "line": [stop]})
    (one,) = placed(both, taken("2026-09-14T22:00"))
    assert (one.outcome, one.because) == (
        "ambiguous", "may be of 2026-09-14-big-blue, 2026-09-14-little-heron: name the run",
    )  # fmt: skip
    assert told(placed(both, taken("2026-09-14T22:00"), run="2026-09-14-little-heron")) == [
        ("matched", "2026-09-14-little-heron", "1")
    ]
    vague = pages(NIGHT, {**HERON, "line": [{"line": "stop", "site": "Pier"}]})
    assert told(placed(vague, taken("2026-09-14T22:00"))) == [("matched", "2026-09-14-big-blue", "2")]
    (one,) = placed(vague, taken("2026-09-15T11:00"))
    assert (one.run, one.because) == ("2026-09-14-little-heron", "in the night of the run, which has no times")


def test_a_photo_without_a_time_needs_the_name_of_its_run() -> None:
    """And no stop is guessed for it; nor between two stops at once."""
    made = pages(NIGHT)
    (one,) = placed(made, taken(None))
    assert (one.outcome, one.because) == ("no time", "it does not say when it was taken: name the run")
    assert told(placed(made, taken(None), run="2026-09-14-big-blue")) == [("matched", "2026-09-14-big-blue", "")]
    stop = {"line": "stop", "site": "Pier", "arrived": "21:30", "left": "23:00"}
    twice = pages(
        {**HERON, "start": "21:00", "line": [stop, {**stop, "site": "Quay"}, {"line": "stop", "site": "Dock"}]}
    )
    assert told(placed(twice, taken("2026-09-14T22:00"))) == [("matched", "2026-09-14-little-heron", "")]


def test_cancelled_runs_have_no_photos_and_broken_photos_no_run() -> None:
    """What cannot be read is told."""
    made = pages(NIGHT)
    made.take("cancel", {"run": "2026-09-14-big-blue", "why": "twice"})
    found = placed(made, taken("2026-09-14T22:00"), taken(None, fault="it is empty"))
    assert [(one.outcome, one.because) for one in found] == [
        ("no run", "no run was out at 2026-09-14 22:00"), ("refused", "it is empty"),
    ]  # fmt: skip


def attached(made: Pages, name: str, line: str, sha: str, what: str = "photo", **more: Any) -> None:
    from compliance.intake.entries import entry
    from compliance.intake.papers import check_attach
    from compliance.records.envelope import Record

    raw = {"run": "2026-09-14-big-blue", "line": line, "name": name, "sha256": sha, "size": 5, "what": what, "who": "R"}
    checked = check_attach({**raw, **more}, state=state(made), where="", now=NOW)
    assert checked.problems == ()
    one = entry(checked, now=NOW.isoformat(), token=lambda: len(made.records).to_bytes(16, "big"))
    seq = len(made.records) + 1
    made.records.append(Record(seq, one.id, one.kind, 1, one.event_time, one.device_time, one.device_time, one.payload))


def test_a_photo_that_is_there_is_known() -> None:
    """Twice in the folder too; for another run it may be attached again by name."""
    made = pages(NIGHT, {**HERON, "line": [{"line": "stop", "site": "Pier"}]})
    attached(made, "a.jpg", "", "a" * 64)
    found = placed(made, taken("2026-09-14T22:00"), taken("2026-09-14T22:00", "b" * 64), taken(None, "b" * 64))
    assert [(one.outcome, one.because) for one in found] == [
        ("known", "it is attached already"), ("matched", "within the times of the run"), ("known", "twice"),
    ]  # fmt: skip
    assert told(placed(made, taken(None), run="2026-09-14-big-blue")) == [("known", "", "")]
    assert told(placed(made, taken(None), run="2026-09-14-little-heron"))[0][0] == "matched"


def test_pages_are_given_copies_with_what_they_show_and_where() -> None:
    """In the order of the lines; a file without a copy is not shown."""
    made = pages(NIGHT)
    copy = {"sha256": "c" * 64, "size": 4}
    attached(made, "b.jpg", "4", "1" * 64, copy=copy)
    attached(made, "a.jpg", "2", "2" * 64, "NE inlet covered", copy=copy)
    attached(made, "c.jpg", "", "3" * 64, copy=copy)
    attached(made, "d.pdf", "2", "4" * 64)
    attached(made, "e.jpg", "1", "5" * 64, copy=copy)
    run = state(made).runs[0]
    assert [(one.caption, one.file.line, one.file.sha256) for one in photos_for(state(made), run)] == [
        ("photo", "", "3" * 64), ("reading", "1", "5" * 64), ("NE inlet covered, Fernwood Plaza", "2", "2" * 64),
        ("North Yard station", "4", "1" * 64),
    ]  # fmt: skip
    assert {one.file.copy for one in photos_for(state(made), run)} == {"c" * 64}


def test_the_invented_photos_are_what_phones_make() -> None:
    """Else the tests of the copy would pass on nothing."""
    data = photo("JPEG", exif(TAKEN, turned=6))
    said = opened(data).getexif()
    assert said[taking.TURNED] == 6 and said.get_ifd(taking.GPS)[2] == taking.POSITION[0]
    assert b"Quoll-Lens" in data
