"""How far an installation's values can be trusted, counted and said plainly.

One rule holds everywhere: a value is a placeholder until somebody has entered it, and until an
instructor has signed it too it isn't for use in the aircraft. What isn't signed is told as such.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trainer.charts.installation import Installation, LimitValue, OptionValue, Provenance

NOT_FOR_USE = "not for use in the aircraft until an instructor has signed"
"""What holds for every value that isn't signed."""
_NOT_ABOUT = "what is learned about these numbers isn't about the aircraft"


@dataclass(frozen=True, slots=True)
class Trust:
    """Counts of values by their state; what is neither placeholder nor entered is signed."""

    limits: int
    limit_placeholders: int
    limits_entered: int
    """Entered, but not signed."""
    options: int
    option_placeholders: int
    options_entered: int
    """Entered, but not signed."""
    unknown: int
    verified: int
    """Limits and options that an instructor has signed."""

    @property
    def unsigned_limits(self) -> int:
        """Limits that no instructor has signed, entered or not."""
        return self.limit_placeholders + self.limits_entered

    @property
    def unsigned(self) -> int:
        """Limits and options that no instructor has signed, entered or not."""
        return self.placeholders + self.entered

    @property
    def entered(self) -> int:
        """Limits and options that are entered, but not signed."""
        return self.limits_entered + self.options_entered

    @property
    def placeholders(self) -> int:
        """Limits and options that nobody has entered."""
        return self.limit_placeholders + self.option_placeholders


def trust_of(installation: Installation) -> Trust:
    """Return the counts of an installation."""
    limits, options = list(installation.limits.values()), list(installation.options.values())
    both: list[LimitValue | OptionValue] = [*limits, *options]
    return Trust(
        len(limits),
        _count(limits, "placeholder"),
        _count(limits, "entered"),
        len(options),
        _count(options, "placeholder"),
        _count(options, "entered"),
        sum(one.provenance.is_unknown for one in both),
        _count(both, "verified"),
    )


def _count(values: Iterable[LimitValue | OptionValue], state: str) -> int:
    return sum(one.provenance.state == state for one in values)


def is_signed(provenance: Provenance) -> bool:
    """True if an instructor has signed the value."""
    return provenance.state == "verified"


def standing_words(provenance: Provenance) -> str:
    """Return what an unsigned value is called where it stands; empty if it is signed.

    Example:
        >>> standing_words(Provenance())
        'placeholder'
        >>> standing_words(Provenance("entered", "Supplement 5", "Bo", "2026-01-02"))
        'not signed'
    """
    if is_signed(provenance):
        return ""
    return "placeholder" if provenance.state == "placeholder" else "not signed"


def trust_words(installation: Installation) -> str:
    """Return the counts as a plain statement.

    Example:
        >>> from trainer.resources import resource_folder
        >>> from trainer.charts.installation import load_installation
        >>> charts = resource_folder("statecharts")
        >>> amber = load_installation(charts / "installations" / "ship_amber.yaml", charts)
        >>> trust_words(amber).partition(" and ")[0]
        '19 of 19 limits'
        >>> trust_words(amber).partition(": ")[2]
        'not for use in the aircraft until an instructor has signed.'
    """
    trust = trust_of(installation)
    if not trust.unsigned:
        return "Every limit and option is signed by an instructor."
    said = [
        f"{' and '.join(counts)} {words}"
        for counts, words in (
            (_counts(trust, trust.limit_placeholders, trust.option_placeholders),
             "are placeholders"),
            (_counts(trust, trust.limits_entered, trust.options_entered),
             "are entered but not signed"),
        )
        if counts
    ]  # fmt: skip
    signed = f"; {trust.verified} signed" if trust.verified else ""
    asked = f" {trust.unknown} to be asked." if trust.unknown else ""
    return f"{', '.join(said)}{signed}: {NOT_FOR_USE}.{asked}"


def _counts(trust: Trust, limits: int, options: int) -> list[str]:
    found = ((limits, trust.limits, "limits"), (options, trust.options, "options"))
    return [f"{count} of {whole} {noun}" for count, whole, noun in found if count]


def list_words(installation: Installation) -> str:
    """Return the counts in a few words, for a line of a list: what is open, or `all signed`."""
    trust = trust_of(installation)
    everything = trust.limits + trust.options
    if not trust.unsigned:
        return f"all {everything} values signed"
    parts = [f"{trust.placeholders} of {everything} placeholders"] if trust.placeholders else []
    parts += [f"{trust.entered} of {everything} entered but not signed"] if trust.entered else []
    return ", ".join(parts)


def unsigned_words(limits: Sequence[LimitValue], title: str) -> str:
    """Return how many limits of an aircraft aren't signed, without a full stop; empty if none.

    Example:
        >>> limit = LimitValue("bank_limit_deg", 22.0, "deg", "Bank limit")
        >>> unsigned_words([limit], "Ship Amber")
        "1 of 1 limits of Ship Amber isn't signed by an instructor (1 placeholder)"
    """
    placeholders, entered = _count(limits, "placeholder"), _count(limits, "entered")
    unsigned = placeholders + entered
    if not unsigned:
        return ""
    verb = "isn't" if unsigned == 1 else "aren't"
    return (
        f"{unsigned} of {len(limits)} limits of {title} {verb} signed by an instructor "
        f"({_by_state(placeholders, entered)})"
    )


def _by_state(placeholders: int, entered: int) -> str:
    parts = [f"{placeholders} placeholder{'s' * (placeholders > 1)}"] if placeholders else []
    parts += [f"{entered} entered only"] if entered else []
    return ", ".join(parts)


def values_words(installation: Installation) -> str:
    """Return how many values of a ship aren't signed, without a full stop; empty if none.

    Example:
        >>> from trainer.resources import resource_folder
        >>> from trainer.charts.installation import load_installation
        >>> charts = resource_folder("statecharts")
        >>> amber = load_installation(charts / "installations" / "ship_amber.yaml", charts)
        >>> values_words(amber)
        'Ship Amber, stage one: 46 of 46 values not signed (46 placeholders)'
    """
    trust = trust_of(installation)
    if not trust.unsigned:
        return ""
    everything = trust.limits + trust.options
    counts = f"{trust.unsigned} of {everything} values not signed"
    return f"{installation.title}: {counts} ({_by_state(trust.placeholders, trust.entered)})"


def trained_words(limits: Sequence[LimitValue], title: str) -> str:
    """Return what training on unsigned limits isn't worth, in a sentence; empty if all are signed.

    Args:
        limits: Those that are trained on.
        title: What the aircraft is called.
    """
    words = unsigned_words(limits, title)
    return f"{words}: {NOT_FOR_USE}; {_NOT_ABOUT}." if words else ""


def limits_warning(installation: Installation) -> str:
    """Return a warning if any limit in use isn't signed; empty if all are."""
    words = unsigned_words(list(installation.limits.values()), installation.title)
    return f"{words}: {NOT_FOR_USE}." if words else ""


def limits_note(installation: Installation) -> str:
    """Return the warning in a few words, for beside a strip; empty if there is none."""
    count = trust_of(installation).unsigned_limits
    return f"{count} limit{'s' * (count > 1)} not signed" if count else ""
