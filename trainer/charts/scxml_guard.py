"""Guards as SCXML conditions, and no more of ECMAScript than any engine can read.

Four atoms: `In('lateral.level')`, `In('lateral.level') == false`, `servo_ok == 1`,
`servo_ok == 0`; joined by `&&`, `||` and round brackets. Signals are the numbers 0 and 1, so
nothing rests on how a language takes truth, and negation is pushed down to the atoms.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

from trainer.charts.spec import All, Any, Guard, In, Not, Signal

NEVER = "false"


def state_id(region: str, state: str) -> str:
    """Return the id that a region's state has in the document."""
    return f"{region}.{state}"


def condition(guard: Guard, states: Mapping[str, Collection[str]]) -> str:
    """Return the guard as a condition; empty: it always holds.

    Args:
        guard: A guard of a specialised chart.
        states: The states of every region, by region id, in chart order.

    Example:
        >>> condition(All((Signal("a"), Not(In("r", frozenset({"x"}))))), {"r": ("x", "y", "z")})
        "a == 1 && In('r.x') == false"
    """
    return _write(guard, states, negate=False).text


def refused_by(guards: Collection[Guard], guard: Guard) -> Guard:
    """Return the guard of a rule whose event is refused while any of `guards` holds."""
    return All((*(Not(one) for one in guards), guard)) if guards else guard


@dataclass(frozen=True, slots=True)
class _Text:
    """A piece of a condition and what joins its parts: a lone atom, or `&&`, or `||`."""

    text: str
    joined_by: Literal["", "&&", "||"] = ""


def _write(guard: Guard, states: Mapping[str, Collection[str]], *, negate: bool) -> _Text:
    match guard:
        case Signal(name):
            return _Text(f"{name} == {0 if negate else 1}")
        case In(region, named):
            return _write_in(region, named, states[region], negate=negate)
        case Not(part):
            return _write(part, states, negate=not negate)
        case All(parts) | Any(parts):
            written = [_write(part, states, negate=negate) for part in parts]
            if isinstance(guard, All) != negate:
                return _join(written, "&&", neutral="", absorbing=NEVER)
            return _join(written, "||", neutral=NEVER, absorbing="")


def _write_in(
    region: str, named: Collection[str], every: Collection[str], *, negate: bool
) -> _Text:
    """Write membership by whichever is shorter: the states named, or all the others denied."""
    inside = [state for state in every if (state in named) != negate]
    outside = [state for state in every if state not in inside]
    if len(inside) <= len(outside):
        atoms = [_Text(f"In('{state_id(region, state)}')") for state in inside]
        return _join(atoms, "||", neutral=NEVER, absorbing="")
    atoms = [_Text(f"In('{state_id(region, state)}') == false") for state in outside]
    return _join(atoms, "&&", neutral="", absorbing=NEVER)


def _join(written: list[_Text], by: Literal["&&", "||"], *, neutral: str, absorbing: str) -> _Text:
    if any(one.text == absorbing for one in written):
        return _Text(absorbing)
    kept = list(dict.fromkeys(one for one in written if one.text != neutral))
    if not kept:
        return _Text(neutral)
    if len(kept) == 1:
        return kept[0]
    parts = [one.text if one.joined_by in ("", by) else f"({one.text})" for one in kept]
    return _Text(f" {by} ".join(parts), by)
