"""The registers: what is known of a rig, a tank, a place and their kin by its name, whatever way that is spelled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any

from compliance.records.answer import without_value
from compliance.records.names import folded
from compliance.records.quick import dataclass
from compliance.records.views import Fields


@dataclass(frozen=True)
class Registers:
    """The registers as they stand. entries: register -> folded name -> fields, the name as typed among them."""

    entries: Mapping[str, Mapping[str, Fields]] = field(default_factory=dict)
    same: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def find(self, what: str, name: Any) -> Fields | None:
        """The entry that `name` means, through 'same as', or None when it is on no register."""
        if not isinstance(name, str):
            return None
        return self.entries.get(what, {}).get(self.key(what, name))

    def instrument_read(self, name: Any) -> Fields | None:
        """The instrument that a reading line is of, None for a tank; a tank goes before an instrument of its name."""
        return None if self.find("tank", name) is not None else self.find("instrument", name)

    def name(self, what: str, name: str) -> str:
        """The name to show for `name`: that of its entry, or itself when it is free text."""
        entry = self.find(what, name)
        return str(entry["name"]) if entry else name

    def key(self, what: str, name: str) -> str:
        """What tells entries apart: equal for two spellings of one entry, for free text too."""
        key = folded(name)
        for _ in range(len(self.same) + 1):
            if (what, key) not in self.same:
                break
            key = self.same[what, key]
        return key

    def all(self, what: str) -> Sequence[Fields]:
        """Every entry of a register, in the order in which they were added."""
        return [entry for key, entry in self.entries.get(what, {}).items() if (what, key) not in self.same]

    def tanks(self, rig: str, role: str) -> Sequence[Fields]:
        """The tanks of one rig with one role."""
        key = self.key("rig", rig)
        return [
            tank
            for tank in self.all("tank")
            if tank.get("role") == role and self.key("rig", str(tank.get("rig", ""))) == key
        ]


def enter(entries: dict[str, dict[str, dict[str, Any]]], said: Fields) -> None:
    """Put what one register record says into the entries: register -> folded name -> fields.

    A field that was there is replaced, any other stays.
    """
    entry = entries.setdefault(said["what"], {}).setdefault(folded(said["name"]), {"name": said["name"]})
    entry.update(said["fields"])
    if said["what"] == "limit":
        _the_later_governs(entry, said["fields"])


def _the_later_governs(entry: dict[str, Any], said: Fields) -> None:
    """Of a limit's value and 'none yet' the one that was said last stands; the value, where one entry says both."""
    if without_value(said.get("value")) is None:
        entry.pop("none_yet", None)
    elif said.get("none_yet") == "yes":
        entry.pop("value", None)
