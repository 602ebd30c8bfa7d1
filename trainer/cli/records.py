"""`records ACTION`: a member's own answers, and with `records club ACTION` the lead's book."""

from __future__ import annotations

import argparse

from trainer.app import Workspace
from trainer.cli import records_club, records_member, records_roster
from trainer.cli.action import declare_actions
from trainer.cli.output import Output


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parts = declare_actions(parser, records_member.ACTIONS)
    words = "the training lead's book"
    club = parts.add_parser("club", help=words, description=words)
    declare_actions(club, {**records_roster.ACTIONS, **records_club.ACTIONS})


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Do the action."""
    return int(arguments.run(arguments, output, workspace))
