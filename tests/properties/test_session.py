"""Sessions under any sequence of keys, selections and faults."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.helpers.charts import microstep
from tests.helpers.situations import cruise, intercept
from trainer.charts.guard import evaluate_at
from trainer.charts.kernel import AUTOMATIC
from trainer.session.faults import SIMPLE_FAULTS
from trainer.session.session import Session

SHIPS = st.sampled_from(["ship_amber", "ship_slate"])
KEYS = st.integers(0, 30)
ACTIONS = st.lists(
    st.one_of(
        st.tuples(st.just("press"), KEYS),
        st.tuples(st.just("altitude"), st.sampled_from([1500.0, 3000.0, 3100.0, 6000.0])),
        st.tuples(st.just("heading"), st.floats(0, 360)),
        st.tuples(st.just("power"), st.floats(0, 100)),
        st.tuples(st.just("source"), st.sampled_from(["", "beacon", "approach"])),
        st.tuples(st.just("fault"), st.sampled_from(sorted(SIMPLE_FAULTS))),
        st.tuples(st.just("mend"), st.sampled_from(sorted(SIMPLE_FAULTS))),
        st.tuples(st.just("fly"), st.integers(1, 200)),
    ),
    max_size=25,
)


def act(session: Session, action: tuple) -> None:
    kind, value = action
    match kind:
        case "press":
            events = list(session.installation.chart.events)
            session.press(events[value % len(events)])
        case "altitude":
            session.select("selected_altitude_ft", value)
        case "heading":
            session.select("selected_heading_deg", value)
        case "power":
            session.select("power_percent", value)
        case "source":
            session.select("source", value)
        case "fault" | "mend":
            session.inject(value, kind == "fault")
        case "fly":
            for _ in range(value):
                session.step()


def assert_settled_and_sound(session: Session) -> None:
    machine = session.logic.machine
    _, fired = microstep(machine, session.configuration, session.bits, AUTOMATIC)
    assert fired == ()
    for invariant in machine.chart.invariants.values():
        moment = machine.chart, session.configuration, session.bits
        if evaluate_at(invariant.if_, *moment):
            assert evaluate_at(invariant.then, *moment), invariant.sentence


@settings(max_examples=40, deadline=None)
@given(ship=SHIPS, actions=ACTIONS)
def test_every_shown_configuration_is_settled_and_breaks_no_invariant(ship, actions):
    session = cruise(ship)
    for action in actions:
        act(session, action)
        assert_settled_and_sound(session)
        assert session.flight.modes.lateral == session.annunciation.lateral.active
        assert session.flight.modes.vertical == session.annunciation.vertical.active


@settings(max_examples=25, deadline=None)
@given(ship=SHIPS, actions=ACTIONS)
def test_the_same_inputs_give_the_same_trace_bit_for_bit(ship, actions):
    sessions = [intercept(ship), intercept(ship)]
    for session in sessions:
        for action in actions:
            act(session, action)
    first, second = sessions
    assert list(first.trace.records) == list(second.trace.records)
    assert first.flight.sample() == second.flight.sample()


@settings(max_examples=25, deadline=None)
@given(ship=SHIPS, before=ACTIONS, after=ACTIONS)
def test_a_fork_goes_on_exactly_as_the_original_would(ship, before, after):
    session = intercept(ship)
    for action in before:
        act(session, action)
    fork = session.fork()
    for action in after:
        act(session, action)
    frozen = (session.configuration, session.flight.sample(), session.marks)
    for action in after:
        act(fork, action)
    assert frozen == (fork.configuration, fork.flight.sample(), fork.marks)
    assert frozen == (session.configuration, session.flight.sample(), session.marks)
