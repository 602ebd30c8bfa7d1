"""How far an installation's values can be trusted, counted and said plainly."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.charts.installation import Installation, LimitValue, OptionValue


@dataclass(frozen=True, slots=True)
class Trust:
    """Counts of values by their state."""

    limits: int
    limit_placeholders: int
    options: int
    option_placeholders: int
    unknown: int
    verified: int


def trust_of(installation: Installation) -> Trust:
    """Return the counts of an installation."""
    limits, options = list(installation.limits.values()), list(installation.options.values())
    both: list[LimitValue | OptionValue] = [*limits, *options]
    return Trust(
        len(limits),
        sum(_is_placeholder(one) for one in limits),
        len(options),
        sum(_is_placeholder(one) for one in options),
        sum(one.provenance.is_unknown for one in both),
        sum(one.provenance.state == "verified" for one in both),
    )


def _is_placeholder(value: LimitValue | OptionValue) -> bool:
    return value.provenance.state == "placeholder"


def trust_words(installation: Installation) -> str:
    """Return the counts as a plain statement.

    Example: `12 of 19 limits and 3 of 27 options are placeholders: not for use.`

    Example:
        >>> from trainer.resources import resource_folder
        >>> from trainer.charts.installation import load_installation
        >>> charts = resource_folder("statecharts")
        >>> amber = load_installation(charts / "installations" / "ship_amber.yaml", charts)
        >>> trust_words(amber)
        '19 of 19 limits and 27 of 27 options are placeholders: not for use.'
    """
    trust = trust_of(installation)
    parts = []
    if trust.limit_placeholders:
        parts.append(f"{trust.limit_placeholders} of {trust.limits} limits")
    if trust.option_placeholders:
        parts.append(f"{trust.option_placeholders} of {trust.options} options")
    if not parts:
        everything = trust.limits + trust.options
        if trust.verified == everything:
            return "Every limit and option is verified."
        return f"Nothing is a placeholder; {trust.verified} of {everything} values are verified."
    asked = f" {trust.unknown} to be asked." if trust.unknown else ""
    use = "not for use" if trust.limit_placeholders else "limits are entered, options are not"
    return f"{' and '.join(parts)} are placeholders: {use}.{asked}"


def limits_warning(installation: Installation) -> str:
    """Return a warning if any limit in use is still a placeholder; empty if none is."""
    trust = trust_of(installation)
    if not trust.limit_placeholders:
        return ""
    return (
        f"{trust.limit_placeholders} of {trust.limits} limits of {installation.title} are"
        " placeholders: not for use in the aircraft."
    )


def limits_note(installation: Installation) -> str:
    """Return the warning in a few words, for beside a strip; empty if there is none."""
    trust = trust_of(installation)
    if not trust.limit_placeholders:
        return ""
    return f"{trust.limit_placeholders} placeholder limit{'s' * (trust.limit_placeholders > 1)}"
