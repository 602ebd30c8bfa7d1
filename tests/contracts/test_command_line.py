"""Every command has help, and the guide describes every command."""

from trainer.cli.main import COMMANDS, build_parser


def test_every_command_is_documented():
    from trainer.resources import guide_folder

    text = (guide_folder() / "command-line.md").read_text(encoding="utf-8")
    assert [name for name in COMMANDS if f"\n## {name}\n" not in text] == []


def test_every_command_has_help(capsys):
    build_parser().print_help()
    shown = capsys.readouterr().out
    assert [name for name in COMMANDS if name not in shown] == []
