"""Optional content (ISO 32000-1 8.11): which layers there are, and which print by the file's default state."""

from __future__ import annotations

from typing import Any

from worker.measure.pdfobjects import array, get, identity, name, text


class Layers:
    """The document's optional content groups."""

    def __init__(self, catalogue: Any) -> None:
        properties = get(catalogue, "/OCProperties")
        groups = array(get(properties, "/OCGs"))
        default = get(properties, "/D")
        self.names = tuple(text(get(group, "/Name")) or "unnamed" for group in groups)
        hidden = {identity(group) for group in groups} if name(get(default, "/BaseState")) == "OFF" else set()
        hidden |= {identity(group) for group in array(get(default, "/OFF"))}
        hidden -= {identity(group) for group in array(get(default, "/ON"))} if hidden else set()
        hidden |= {identity(group) for group in groups if _kept_from_print(group)}
        self._hidden = hidden

    def hides(self, content: Any) -> bool:
        """Whether a group, or a membership dictionary by its policy, is off when the file is printed."""
        if content is None:
            return False
        if name(get(content, "/Type")) != "OCMD":
            return identity(content) in self._hidden
        members = get(content, "/OCGs")
        off = [identity(group) in self._hidden for group in (array(members) or [members])]
        policy = name(get(content, "/P")) or "AnyOn"
        shown = {"AnyOn": not all(off), "AllOn": not any(off), "AnyOff": any(off), "AllOff": all(off)}
        return not shown.get(policy, True)


def _kept_from_print(group: Any) -> bool:
    return name(get(get(get(group, "/Usage"), "/Print"), "/PrintState")) == "OFF"
