"""The signals of a chart, evaluated with hysteresis into one integer of bits.

Compiled once for an installation: a number a signal needs is looked up here, not while flying.
"""

from __future__ import annotations

from trainer.charts.installation import Installation
from trainer.charts.spec import SignalSpec
from trainer.flight import FlightModel
from trainer.session.quantities import QUANTITIES, measured

Band = tuple[int, int, float, float]
"""Bit mask, index of the quantity, threshold to come on, threshold to stay on."""


class SignalSet:
    """All signals of one installation, ready to be evaluated at every step."""

    def __init__(self, installation: Installation, signal_bit: dict[str, int]) -> None:
        self._plain: list[tuple[int, int]] = []
        self._above: list[Band] = []
        self._below: list[Band] = []
        for spec in installation.chart.signals.values():
            mask, index = 1 << signal_bit[spec.id], QUANTITIES.index(spec.quantity)
            if spec.sense == "true":
                self._plain.append((mask, index))
            elif spec.sense == "above":
                self._above.append(_band(spec, mask, index, installation))
            else:
                self._below.append(_band(spec, mask, index, installation))

    def evaluate(self, flight: FlightModel, powered_s: float, bits: int) -> int:
        """Return the bits of the true signals.

        Args:
            flight: The flight to read.
            powered_s: Time since electrical power came on [s]; negative without power.
            bits: The bits of the step before, for the hysteresis.
        """
        values = measured(flight, powered_s)
        result = 0
        for mask, index in self._plain:
            if values[index]:
                result |= mask
        for mask, index, on, stay in self._above:
            if values[index] >= (stay if bits & mask else on):
                result |= mask
        for mask, index, on, stay in self._below:
            if values[index] <= (stay if bits & mask else on):
                result |= mask
        return result


def _band(spec: SignalSpec, mask: int, index: int, installation: Installation) -> Band:
    return mask, index, spec.on.of(installation), spec.off.of(installation)
