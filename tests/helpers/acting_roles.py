"""Roles of controls that a person acts on; each must have a name for a screen reader."""

from __future__ import annotations

from PySide6.QtGui import QAccessible

ACTING = {
    QAccessible.Role.Button,
    QAccessible.Role.RadioButton,
    QAccessible.Role.CheckBox,
    QAccessible.Role.ComboBox,
    QAccessible.Role.EditableText,
    QAccessible.Role.SpinBox,
    QAccessible.Role.Slider,
    QAccessible.Role.List,
    QAccessible.Role.Table,
    QAccessible.Role.PageTabList,
}
