"""A chart small enough to read, valid as it stands; tests spoil one line of it."""

# ruff: noqa: E501
# A chart's lines are as long as people write them.

SMALL = """\
format: chart/1
id: small
title: Small chart
competencies: [logic]
options:
  key_again:
    section: 6
    question: What does the key do again?
    choices: {off: It ends., ignored: Nothing.}
    default: off
limits:
  lowest_ft: {label: Lowest height, unit: ft, default: 500, low: 0, high: 2000}
events:
  press: {label: Press, kind: key, group: lateral}
  turn: {label: Turn, kind: selector, group: lateral, option: {key_again: ignored}}
signals:
  high: {label: high, quantity: height_ft, true_above: {limit: lowest_ft}, false_below: {limit: lowest_ft, plus: -50}, excludes: [on_path]}
  fast: {label: fast, quantity: airspeed_kt, true_above: 100, false_below: 95}
  valid: {label: valid, quantity: course_valid}
  on_path: {label: on path, quantity: course_intercept_margin, true_below: 0, false_above: 0.1, implies: [valid]}
regions:
  mode:
    label: Mode
    kind: active
    axis: lateral
    initial: none
    states:
      none: {label: none}
      held: {label: held, enter: take_present_bank}
      followed: {label: followed, short: follow, option: {key_again: off}}
  arm:
    label: Arm
    kind: armed
    axis: lateral
    arms: followed
    initial: clear
    states: {clear: {label: clear}, armed: {label: armed}}
conditions:
  ready:
    label: all is ready
    when: [valid, not fast]
rules:
  - id: begin
    section: 1
    competency: logic
    region: mode
    on: press
    from: none
    to: held
    when: [valid]
    because: It begins.
    source: common practice
  - id: end
    section: 1
    competency: logic
    region: mode
    on: press
    from: held
    to: none
    because: It ends.
    source: common practice
  - id: lost
    section: 1
    competency: logic
    region: mode
    from: [held, followed]
    to: none
    when: [not valid]
    before: [captured]
    by: reversion
    because: It is lost.
    source: common practice
  - id: captured
    section: 1
    competency: logic
    region: mode
    from: held
    to: followed
    in: {arm: armed}
    when: [{any: [on_path, {all: [high, {not: [fast]}]}]}]
    option: {key_again: off}
    because: It is captured.
    source: common practice
  - id: arming
    section: 1
    competency: logic
    region: arm
    on: press
    from_all_but: [armed]
    to: armed
    do: [take_present_heading]
    because: It arms.
    source: common practice
refusals:
  - id: not_ready
    section: 1
    competency: logic
    on: [press]
    not_in: {mode: [held, followed]}
    when: [not ready]
    reason: Not ready
    because: It isn't ready.
    source: common practice
invariants:
  - id: armed_or_not
    sentence: Nothing is followed while armed.
    if: [{in: {mode: [followed]}}]
    then: [{not_in: {arm: [armed]}}]
    source: common practice
"""
