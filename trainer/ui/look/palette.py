"""The theme as Qt's palette, for the widgets that Qt's own style draws: combos, spins, radios."""

from __future__ import annotations

from PySide6.QtGui import QColor, QPalette

from trainer.ui.look.theme import Theme


def palette_of(theme: Theme) -> QPalette:
    """Return the palette of a theme."""
    palette = QPalette()
    role = QPalette.ColorRole
    for name, colour in (
        (role.Window, theme.ground),
        (role.WindowText, theme.ink),
        (role.Base, theme.field),
        (role.AlternateBase, theme.panel),
        (role.Text, theme.ink),
        (role.Button, theme.field),
        (role.ButtonText, theme.ink),
        (role.ToolTipBase, theme.field),
        (role.ToolTipText, theme.ink),
        (role.PlaceholderText, theme.quiet_ink),
        (role.Highlight, theme.accent),
        (role.HighlightedText, theme.accent_ink),
        (role.Accent, theme.accent),
        (role.Link, theme.accent),
        (role.LinkVisited, theme.accent),
    ):
        palette.setColor(name, QColor(colour))
    for name in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, name, QColor(theme.quiet_ink))
    return palette
