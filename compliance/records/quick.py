"""`dataclass(frozen=True)` that is quicker to define.

A crew waits while a hundred and more frozen classes are made, each time a night is handed in. The standard module
compiles six functions for each; here one is compiled, `__init__`, and the others are shared. Fields, `replace`,
`match`, `copy` and `pickle` are those of the standard module, which still reads the fields; any other form of
`dataclass` is handed on to it. A test holds both to the same behaviour.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from operator import attrgetter
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass  # to a type checker it is the standard one
else:

    def dataclass(cls=None, /, **options):
        """As `dataclasses.dataclass`; quick where frozen=True is all that is asked for."""
        if options != {"frozen": True}:
            return dataclasses.dataclass(cls, **options)
        return _frozen if cls is None else _frozen(cls)


_NEW: Final = object()
_set = object.__setattr__


def _frozen(cls: type[Any]) -> type[Any]:
    made = dataclasses.dataclass(init=False, repr=False, eq=False)(cls)
    fields = dataclasses.fields(made)
    compared = _getter([field.name for field in fields if field.compare])
    counted = _getter([field.name for field in fields if (field.compare if field.hash is None else field.hash)])
    printed = [field.name for field in fields if field.repr]

    def equals(self: Any, other: Any) -> Any:
        return compared(self) == compared(other) if other.__class__ is self.__class__ else NotImplemented

    def hashed(self: Any) -> int:
        return hash(counted(self))

    def shown(self: Any) -> str:
        return f"{type(self).__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in printed)})"

    functions = {"__init__": _init(made, fields), "__eq__": equals, "__hash__": hashed, "__repr__": shown}
    for name, function in {**functions, "__setattr__": _no_change, "__delattr__": _no_removal}.items():
        setattr(made, name, function)
    return made


def _getter(names: list[str]) -> Callable[[Any], Any]:
    return attrgetter(*names) if names else _nothing


def _init(made: type[Any], fields: tuple[dataclasses.Field[Any], ...]) -> Callable[..., None]:
    """`__init__`, compiled: one assignment a field, which `__setattr__` of the class would refuse."""
    given: dict[str, Any] = {"_set": _set, "_NEW": _NEW}
    parameters, body = ["self"], []
    for field in fields:
        name, value = field.name, field.name
        if field.default is not dataclasses.MISSING:
            given[f"_default_{name}"] = field.default
            parameters.append(f"{name}=_default_{name}")
        elif field.default_factory is not dataclasses.MISSING:
            given[f"_make_{name}"] = field.default_factory
            parameters.append(f"{name}=_NEW")
            value = f"_make_{name}() if {name} is _NEW else {name}"
        else:
            parameters.append(name)
        body.append(f"_set(self, {name!r}, {value})")
    if hasattr(made, "__post_init__"):
        body.append("self.__post_init__()")
    exec(  # names of fields alone, which are identifiers
        f"def __init__({', '.join(parameters)}):\n " + "\n ".join(body or ["pass"]),
        given,
    )
    init: Callable[..., None] = given["__init__"]
    init.__qualname__ = f"{made.__qualname__}.__init__"
    return init


def _nothing(_: Any) -> tuple[()]:
    return ()


def _no_change(self: Any, name: str, value: Any) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _no_removal(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
