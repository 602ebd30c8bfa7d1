"""Which rules may still act by themselves from a configuration on, whatever the flight does.

A flight that could bring nothing wanted needn't be flown: in a search most of them bring nothing,
and each takes as long as thousands of questions to the logic.
"""

from __future__ import annotations

from trainer.charts.guard import Configuration
from trainer.charts.kernel import Kernel
from trainer.charts.symbolic import Symbolic


class Ahead:
    """Follows automatic rules under all signals; for one search, since it remembers.

    Args:
        kernel: The installation's.

    Example:
        >>> from trainer.charts.smallest import lamp
        >>> ahead = Ahead(Kernel(lamp()))
        >>> ahead.rules(("lit",)), ahead.rules(("none",))
        (frozenset({'fails'}), frozenset())
    """

    def __init__(self, kernel: Kernel) -> None:
        self._symbolic = Symbolic(kernel)
        self._next: dict[int, tuple[frozenset[str], frozenset[int]]] = {}

    def rules(self, configuration: Configuration) -> frozenset[str]:
        """Return the ids of all rules on any way that signals alone can lead."""
        known = {self._symbolic.place(configuration)}
        waiting, rules = set(known), frozenset[str]()
        while waiting:
            self._look(waiting)
            rules = rules.union(*(self._next[place][0] for place in waiting))
            waiting = set().union(*(self._next[place][1] for place in waiting)) - known
            known |= waiting
        return rules

    def _look(self, places: set[int]) -> None:
        """Note the rules and the ends of every way from some configurations, one settling far."""
        new = sorted(places - self._next.keys())
        symbolic = self._symbolic
        ends = symbolic.settle(symbolic.start(symbolic.configuration(place) for place in new))
        rules: list[set[str]] = [set() for _ in new]
        targets: list[set[int]] = [set() for _ in new]
        rows = zip(ends.origin.tolist(), ends.place.tolist(), ends.fired.tolist(), strict=True)
        for origin, place, fired in set(rows):
            targets[origin].add(place)
            rules[origin].update(rule.id for rule in symbolic.rules(fired))
        for number, place in enumerate(new):
            self._next[place] = frozenset(rules[number]), frozenset(targets[number])
