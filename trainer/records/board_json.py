"""A board as JSON objects, one for each line, for scripts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from trainer.records.board import Board
from trainer.records.board_change import BoardChange, Call


def board_lines(board: Board) -> Iterator[dict[str, Any]]:
    """Yield one object for each cell, row by row, and one that closes."""
    for member in board.members:
        for one, cell in zip(board.requirements, board.row(member.id), strict=True):
            yield {
                "kind": "cell",
                "member": member.name,
                "competency": one.competency_id,
                "status": cell.status,
                "because": cell.because,
                "attempts": cell.attempts,
                "right_answers": cell.right_answers,
                "last_utc": cell.last_utc or None,
                "expires_utc": cell.expires_utc or None,
                "changed_rules": list(cell.changed_rules),
                "outcome": cell.outcome_id,
            }
    yield {
        "kind": "end",
        "aircraft": board.aircraft.id,
        "stage": board.aircraft.stage,
        "at_utc": board.at_utc,
        "members": len(board.members),
        "ready": sum(board.is_ready(member.id) for member in board.members),
        "cells": dict(board.counts()),
    }


def change_lines(changes: Iterable[BoardChange]) -> Iterator[dict[str, Any]]:
    """Yield one object for each cell that has changed."""
    for one in changes:
        yield {
            "kind": "changed",
            "member": one.member.name,
            "competency": one.requirement.competency_id,
            "before": one.before,
            "after": one.after,
            "because": one.because,
        }


def call_lines(calls: Iterable[Call]) -> Iterator[dict[str, Any]]:
    """Yield one object for each member to call, most urgent first."""
    for one in calls:
        yield {"kind": "call", "member": one.member.name, "reasons": list(one.reasons)}
