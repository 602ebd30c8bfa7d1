"""Cost of a session's step with flight, signals and logic, and of running ahead."""

from tests.helpers.situations import intercept
from trainer.session.session import STEP_S

STEPS = 2000


def test_session_step_against_real_time(benchmark):
    """Goal: at least 3,000 times real time at 20 Hz on one core of a small machine."""
    session = intercept()
    session.press("approach")

    def run():
        for _ in range(STEPS):
            session.step()

    benchmark.pedantic(run, rounds=10, warmup_rounds=1)
    ratio = STEPS * STEP_S / benchmark.stats.stats.min
    benchmark.extra_info["times_real_time"] = round(ratio)
    assert ratio > 1000


def test_fork_and_run_ahead_sixty_seconds(benchmark):
    """Goal: at most 25 ms, so that answers appear at once."""
    session = intercept()
    session.press("approach")

    def run():
        fork = session.fork()
        for _ in range(1200):
            fork.step()

    benchmark.pedantic(run, rounds=15, warmup_rounds=1)
    benchmark.extra_info["ms"] = round(1000 * benchmark.stats.stats.min, 2)


def test_cost_is_linear_in_flight_time(benchmark):
    """Ten times the flight time costs about ten times as much: nothing accumulates."""
    import time

    session = intercept()

    def seconds(steps: int) -> float:
        begin = time.perf_counter()
        for _ in range(steps):
            session.step()
        return time.perf_counter() - begin

    seconds(500)
    short = min(seconds(1000) for _ in range(5))
    long = min(seconds(10_000) for _ in range(2))
    benchmark.extra_info["long_over_short"] = round(long / short, 2)
    benchmark.pedantic(lambda: seconds(100), rounds=3)
    assert 5 < long / short < 20
