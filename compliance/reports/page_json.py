"""Any page as JSON text and back, and with each of its strings changed. Pure.

The types are those of `model` and nothing wider; a text that holds anything else is no page.
"""

from __future__ import annotations

import json
import re
import types
import typing
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from typing import Any, Literal

from compliance.records.problem import ComplianceError
from compliance.reports.model import Block, Page

_TAG = "block"
"""The key that names a block's class; no other class needs one, its place tells what it is."""

_BLOCKS: dict[str, type] = {one.__name__: one for one in typing.get_args(Block)}


def to_json(page: Page) -> str:
    """The page as canonical JSON: sorted keys, no spaces, defaults left out. Equal pages, equal text."""
    text = json.dumps(_plain(page), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return re.sub("[\ud800-\udfff]", lambda m: f"\\u{ord(m[0]):04x}", text)


def from_json(text: str) -> Page:
    """The page that `to_json` wrote. Raises ComplianceError on anything else, unknown keys included."""
    try:
        return typing.cast(Page, _read(Page, json.loads(text)))
    except (ValueError, TypeError, KeyError) as error:
        raise ComplianceError.one(
            f"this is not a page: {error}", "the page's JSON", "make the page again from the book"
        ) from error


def map_text(page: Page, change: Callable[[str], str]) -> Page:
    """The same page with every string passed through change; parts that do not change are kept, not copied."""
    return typing.cast(Page, _mapped(page, change))


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if is_dataclass(value):
        named = {f.name: getattr(value, f.name) for f in fields(value) if getattr(value, f.name) != f.default}
        out = {key: _plain(one) for key, one in named.items()}
        if type(value).__name__ in _BLOCKS:
            out[_TAG] = type(value).__name__
        return out
    return value


def _mapped(value: Any, change: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, tuple):
        new = tuple(_mapped(one, change) for one in value)
        return value if all(a is b for a, b in zip(new, value, strict=True)) else new
    if is_dataclass(value) and not isinstance(value, type):
        old = {name: getattr(value, name) for name in _hints(type(value))}
        made = {name: _mapped(one, change) for name, one in old.items()}
        return value if all(made[name] is old[name] for name in old) else type(value)(**made)
    return value


@cache
def _hints(cls: type) -> dict[str, Any]:
    return typing.get_type_hints(cls)


def _read(kind: Any, value: Any) -> Any:
    """Read value as kind; the types are those of `model` and nothing wider."""
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if kind == Block:
        if not isinstance(value, dict) or value.get(_TAG) not in _BLOCKS:
            raise ValueError(f"no such block: {value!r:.60}")
        return _read(_BLOCKS[value[_TAG]], {key: one for key, one in value.items() if key != _TAG})
    if origin is Literal:
        if value not in inside:
            raise ValueError(f"{value!r} is none of {', '.join(inside)}")
        return value
    if origin is tuple:
        if not isinstance(value, list):
            raise ValueError(f"a list is wanted, not {value!r:.60}")
        return tuple(_read(inside[0], one) for one in value)
    if origin in (types.UnionType, typing.Union):
        return None if value is None else _read(inside[0], value)
    if is_dataclass(kind):
        return _read_dataclass(typing.cast(type, kind), value)
    if type(value) is not kind:
        raise ValueError(f"{kind.__name__} is wanted, not {value!r:.60}")
    return value


def _read_dataclass(kind: type, value: Any) -> Any:
    if not isinstance(value, dict):
        raise ValueError(f"{kind.__name__} is wanted, not {value!r:.60}")
    hints = _hints(kind)
    unknown = sorted(set(value) - set(hints))
    if unknown:
        raise ValueError(f"{kind.__name__} has no {', '.join(unknown)}")
    needed = {f.name for f in fields(kind) if f.default is MISSING and f.default_factory is MISSING}
    absent = sorted(needed - set(value))
    if absent:
        raise ValueError(f"{kind.__name__} lacks {', '.join(absent)}")
    return kind(**{name: _read(hints[name], one) for name, one in value.items()})
