"""Photos in bulk: a copy of each that may be shown, and the run that was out when each was taken.

A phone writes into a photo where it was taken, with which device, when, and which way is up. The original is kept as it
came, with all of that; what goes on pages is a copy made of its pixels alone: upright, at most `LONGEST` pixels a side,
without position, device, time or any other words. The time is read for one purpose, to find the run, and kept nowhere.

Pillow and its reader of HEIC are imported only inside the functions that need them.
"""

from __future__ import annotations

import io
import re
from collections.abc import Collection, Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from compliance.intake.moments import zone_named
from compliance.intake.papers import MEDIA
from compliance.records.quick import dataclass
from compliance.records.state import State
from compliance.records.views import Attachment, LineView, RunView

if TYPE_CHECKING:
    from PIL.Image import Image

LONGEST: Final = 1_400
"""Pixels of the longer side of a copy: two beside each other on paper are sharp, and a page can still be mailed."""
QUALITY: Final = 85
MOST_PIXELS: Final = 120_000_000
"""Pixels of an original: far above any phone's, far below what would fill the memory."""
LARGEST: Final = 25_000_000
"""Bytes of an original: what the book keeps."""
PHOTO: Final = "photo"
"""What an attached photo is said to be, unless somebody says more."""

ENDINGS: Final = tuple(end for end, media in MEDIA.items() if media.startswith("image/"))
SLACK: Final = timedelta(hours=1)
"""How long before the first and after the last recorded time of a run a photo still belongs to it."""
NOON: Final = time(12)
"""A run without any time is taken to last from noon of its day to the next noon, when a photo asks."""

MATCHED, AMBIGUOUS, NO_RUN, NO_TIME, KNOWN, REFUSED = (
    "matched", "ambiguous", "no run", "no time", "known", "refused",
)  # fmt: skip
OUTCOMES: Final = (MATCHED, KNOWN, AMBIGUOUS, NO_RUN, NO_TIME, REFUSED)

_STAMP: Final = re.compile(r"(?P<day>\d{4}:\d{2}:\d{2}) (?P<clock>\d{2}:\d{2}:\d{2})")
_ZONE: Final = re.compile(r"[+-]\d{2}:\d{2}")
_EXIF, _TAKEN, _OFFSET, _CHANGED = 0x8769, 0x9003, 0x9011, 0x0132  # tags of CIPA DC-008, the Exif standard


@dataclass(frozen=True)
class Photo:
    """A photo in a folder. taken: by its own clock, None where it does not say; fault: why it cannot be read."""

    path: Path
    sha256: str
    size: int
    taken: datetime | None
    fault: str = ""


@dataclass(frozen=True)
class Placed:
    """Where a photo belongs. outcome: one of `OUTCOMES`; run: its ref, line: the stop's; because: in words."""

    photo: Photo
    outcome: str
    run: str = ""
    line: str = ""
    because: str = ""


class OnPage(NamedTuple):
    """A photo as a page shows it. caption: what it is and where. file: copy, original, line.

    A page of one client shows photos of that client's lines only: one without a line may show anybody's site.
    """

    caption: str
    file: Attachment


# ---- one photo -----------------------------------------------------------------------------------------------


def photos_in(folder: Path) -> tuple[list[Path], int]:
    """The photos in a folder by name, and how many other files are passed over. What is in its folders is not read."""
    files = sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
    photos = [path for path in files if path.suffix.lower() in ENDINGS]
    return photos, len(files) - len(photos)


def look_at(path: Path, zone: tzinfo) -> Photo:
    """A photo's hash and time; a time without an offset is one of the place."""
    try:
        size = path.stat().st_size
        if not 0 < size <= LARGEST:
            return Photo(path, "", size, None, "it is empty" if size == 0 else _too_large())
        data = path.read_bytes()
    except OSError as error:
        return Photo(path, "", 0, None, f"it cannot be read: {error.strerror or error}")
    digest = sha256(data).hexdigest()
    try:
        with _opened(data) as image:
            return Photo(path, digest, size, _taken(image, zone))
    except Exception as error:  # whatever a broken or hostile file makes its readers raise
        return Photo(path, digest, size, None, _why(error))


def copy_for_pages(data: bytes) -> bytes:
    """A JPEG of the pixels of a photo alone, upright. Raises ValueError for what is no photo."""
    from PIL import Image, ImageOps

    try:
        with _opened(data) as image:
            image.thumbnail((LONGEST, LONGEST))  # before it is turned: a JPEG is then read at a fraction of its size
            plain = _in_plain_colours(ImageOps.exif_transpose(image))
    except Exception as error:  # whatever a broken or hostile file makes its readers raise
        raise ValueError(_why(error)) from error
    pixels = Image.new("RGB", plain.size, "white")  # a new picture: what a photo says beside its pixels stays behind
    pixels.paste(plain, mask=plain.getchannel("A") if plain.mode == "RGBA" else None)
    out = io.BytesIO()
    pixels.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _opened(data: bytes) -> Image:
    """A photo that is not read yet. Raises ValueError for one of too many pixels, and what its reader raises."""
    import warnings

    from PIL import Image
    from pillow_heif import register_heif_opener

    register_heif_opener(thumbnails=False)
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            image = Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP", "HEIF"))
        except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
            raise ValueError("it has too many pixels") from error
    if image.width * image.height > MOST_PIXELS:
        raise ValueError("it has too many pixels")
    return image


def _taken(image: Image, zone: tzinfo) -> datetime | None:
    """When the photo says that it was taken."""
    said = image.getexif()
    details = said.get_ifd(_EXIF)
    stamp = _STAMP.match(str(details.get(_TAKEN) or said.get(_CHANGED)).strip())
    offset = _ZONE.fullmatch(str(details.get(_OFFSET)).strip())
    if stamp is None:
        return None
    day, clock = stamp["day"].replace(":", "-"), stamp["clock"]
    try:
        if offset is not None:
            return datetime.fromisoformat(f"{day}T{clock}{offset[0]}")
        return datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=zone)
    except ValueError:
        return None


def _in_plain_colours(image: Image) -> Image:
    """As sRGB: a phone's own colours come with a profile that names their maker, and stay behind with it."""
    from PIL import ImageCms

    profile = image.info.get("icc_profile")
    mode = "RGBA" if "A" in image.getbands() or "transparency" in image.info else "RGB"
    if profile and image.mode in ("RGB", "RGBA"):
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            changed = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode=mode)
            return changed if changed is not None else image.convert(mode)
        except (ImageCms.PyCMSError, OSError):
            pass  # a profile that cannot be read: the colours as they stand
    return image.convert(mode)


def _too_large() -> str:
    return f"it is larger than {LARGEST // 1_000_000} MB"


def _why(error: BaseException) -> str:
    text = str(error)
    return text if text.startswith("it ") else "it is no photo that can be read"


# ---- where they belong ---------------------------------------------------------------------------------------


def place(photos: Sequence[Photo], state: State, run: str = "") -> list[Placed]:
    """The run and stop of each photo by its time; of the one run, if it is named. Nothing is guessed between two."""
    known = {(one.sha256, one.about) for one in state.attachments}
    anywhere = {sha for sha, _ in known}
    zone = zone_named(str(state.business.get("zone", ""))) or UTC
    only = state.run(run) if run else None
    spans = [(view, *_span(view, zone)) for view in state.runs if view.cancelled is None]
    seen: set[str] = set()
    found = []
    for photo in photos:
        if photo.fault:
            found.append(Placed(photo, REFUSED, because=photo.fault))
        elif photo.sha256 in seen or (
            photo.sha256 in anywhere if only is None else (photo.sha256, only.record) in known
        ):
            found.append(
                Placed(photo, KNOWN, because="it is attached already" if photo.sha256 in anywhere else "twice")
            )
        elif only is not None:
            found.append(Placed(photo, MATCHED, only.ref, _line(only, photo.taken), "the run is named"))
        else:
            found.append(_by_time(photo, spans))
        seen.add(photo.sha256)
    return found


def _by_time(photo: Photo, spans: Sequence[tuple[RunView, datetime, datetime, bool]]) -> Placed:
    if photo.taken is None:
        return Placed(photo, NO_TIME, because="it does not say when it was taken: name the run")
    there = [(view, told) for view, first, last, told in spans if first <= photo.taken <= last]
    there = [one for one in there if one[1]] or there
    if not there:
        return Placed(photo, NO_RUN, because=f"no run was out at {photo.taken:%Y-%m-%d %H:%M}")
    if len(there) > 1:
        return Placed(photo, AMBIGUOUS, because=f"may be of {', '.join(view.ref for view, _ in there)}: name the run")
    view, told = there[0]
    because = "within the times of the run" if told else "in the night of the run, which has no times"
    return Placed(photo, MATCHED, view.ref, _line(view, photo.taken), because)


def _span(run: RunView, zone: tzinfo) -> tuple[datetime, datetime, bool]:
    """From when to when a run was out, and whether its records tell; else noon to noon."""
    moments = [*_moments(run.fields.values()), *(m for line in run.lines for m in _moments(line.fields.values()))]
    if moments:
        return min(moments) - SLACK, max(moments) + SLACK, True
    noon = datetime.combine(date.fromisoformat(run.day), NOON, zone)
    return noon, noon + timedelta(days=1), False


def _moments(values: Collection[Any]) -> Iterator[datetime]:
    for value in values:
        if isinstance(value, str) and value[10:11] == "T" and value[:4].isdigit() and len(value) >= 20:
            yield datetime.fromisoformat(value)


def _line(run: RunView, taken: datetime | None) -> str:
    """The stop during which a photo was taken, '' where no stop's times hold it, or those of two."""
    if taken is None:
        return ""
    there = [line.n for line in run.lines if line.kind == "stop" and _during(line, taken)]
    return there[0] if len(there) == 1 else ""


def _during(stop: LineView, taken: datetime) -> bool:
    ends = [*_moments([stop.get("arrived")]), *_moments([stop.get("left")])]
    return len(ends) == 2 and ends[0] <= taken <= ends[1]


# ---- on pages ------------------------------------------------------------------------------------------------


def photos_for(state: State, run: RunView) -> list[OnPage]:
    """The photos of a run that a page may show, in the order of its lines."""
    order = {line.n: at for at, line in enumerate(run.lines)}
    mine = [one for one in state.attachments if one.about == run.record and one.copy]
    mine.sort(key=lambda one: (order.get(one.line, -1), one.name, one.record))
    return [OnPage(_caption(run, one), one) for one in mine]


def _caption(run: RunView, one: Attachment) -> str:
    """'Harbor deck', 'NE inlet covered, Harbor deck': what somebody said it shows, and where."""
    line = run.line(one.line) if one.line else None
    where = "" if line is None else str(line.get("site") or line.get("place") or line.kind)
    what = "" if one.what == PHOTO and where else one.what
    return ", ".join(part for part in (what, where) if part)
