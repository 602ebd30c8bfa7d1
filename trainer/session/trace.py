"""What a session remembers: every record, and one flight sample a second, both bounded."""

from __future__ import annotations

from collections import deque

from trainer.flight import FlightModel, FlightSample
from trainer.session.record import StepRecord

SAMPLE_EVERY_S = 1.0
MAXIMUM_SAMPLES = 3600
MAXIMUM_RECORDS = 20_000


class Trace:
    """Records and samples of a session, oldest first; the oldest go when it is full."""

    __slots__ = ("_next_sample_s", "records", "samples")

    def __init__(self) -> None:
        self.records: deque[StepRecord] = deque(maxlen=MAXIMUM_RECORDS)
        self.samples: deque[FlightSample] = deque(maxlen=MAXIMUM_SAMPLES)
        self._next_sample_s = 0.0

    def add(self, record: StepRecord) -> None:
        """Keep a record unless nothing happened in it."""
        if not record.is_empty:
            self.records.append(record)

    def sample(self, flight: FlightModel) -> None:
        """Keep a sample if a second has passed since the last one."""
        if flight.t_s >= self._next_sample_s:
            self.samples.append(flight.sample())
            self._next_sample_s = flight.t_s + SAMPLE_EVERY_S
