"""The signals of a chart, evaluated with hysteresis into one integer of bits.

Compiled once for an installation: a number a signal needs is looked up here, not while flying.
"""

from __future__ import annotations

from trainer.charts.installation import Installation
from trainer.charts.spec import SignalSpec
from trainer.flight import FlightModel
from trainer.session.quantities import QUANTITIES

Row = tuple[int, int, float, float, float]
"""Bit mask, index of the quantity, sign, threshold to come on, threshold to stay on."""


class SignalSet:
    """All signals of one installation, ready to be evaluated at every step."""

    def __init__(self, installation: Installation, signal_bit: dict[str, int]) -> None:
        specs = installation.chart.signals.values()
        names = list(dict.fromkeys(spec.quantity for spec in specs))
        self._quantities = [QUANTITIES[name] for name in names]
        self._plain: list[tuple[int, int]] = []
        self._rows: list[Row] = []
        for spec in specs:
            mask, index = 1 << signal_bit[spec.id], names.index(spec.quantity)
            if spec.sense == "true":
                self._plain.append((mask, index))
            else:
                self._rows.append(_row(spec, mask, index, installation))

    def evaluate(self, flight: FlightModel, powered_s: float, bits: int) -> int:
        """Return the bits of the true signals.

        Args:
            flight: The flight to read.
            powered_s: Time since electrical power came on [s]; negative without power.
            bits: The bits of the step before, for the hysteresis.
        """
        navigation = flight.navigation()
        values = [quantity(flight, navigation, powered_s) for quantity in self._quantities]
        result = 0
        for mask, index in self._plain:
            if values[index]:
                result |= mask
        for mask, index, sign, on, stay in self._rows:
            if sign * values[index] >= (stay if bits & mask else on):
                result |= mask
        return result


def _row(spec: SignalSpec, mask: int, index: int, installation: Installation) -> Row:
    on, off = (threshold.of(installation) for threshold in (spec.on, spec.off))
    if spec.sense == "above":
        return mask, index, 1.0, on, off
    return mask, index, -1.0, -on, -off
