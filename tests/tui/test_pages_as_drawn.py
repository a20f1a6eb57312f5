"""The pages of custodian and auditor as drawn, at both sizes, against what a person looked at once."""

import re
from pathlib import Path

import pytest

from tests.tui.driving import driven
from tests.tui.screen_text import refuse_change

PAGES = {
    "custodian-home": ("CUS", ()),
    "register": ("CUS", ("b", "down")),
    "record-verdict": ("CUS", ("b", "down", "enter")),
    "record-description": ("CUS", ("b", "enter", "2")),
    "record-notches": ("CUS", ("b", "down", "enter", "3", "down")),
    "record-certificates": ("CUS", ("b", "down", "enter", "4")),
    "record-history": ("CUS", ("b", "enter", "9")),
    "certificate": ("CUS", ("b", "down", "enter", "4", "enter", "down")),
    "what-follows": ("CUS", ("b", "down", "enter", "4", "enter", "f")),
    "certificate-form": ("CUS", ("b", "enter", "c")),
    "certificate-values": ("CUS", ("b", "down", "enter", "4", "y", "x", "enter", "f2")),
    "recall": ("CUS", ("c",)),
    "intervals": ("CUS", ("d", "l")),
    "item-intervals": ("CUS", ("b", "enter", "l")),
    "awaiting-receipt": ("CUS", ("b", "end", "enter", "s", "2", "tab", "x", "f2")),
    "receipt-points": ("CUS", ("b", "end", "enter", "s", "2", "tab", "x", "f2", "v", "x", "f2")),
    "procedure": ("CUS", ("r", "enter", "2")),
    "findings": ("CUS", ("f",)),
    "finding": ("CUS", ("f", "enter")),
    "check-in": ("CUS", ("h", "space")),
    "people": ("CUS", ("u",)),
    "import": ("CUS", ("x",)),
    "auditor-home": ("AUD", ()),
    "due": ("AUD", ("d",)),
    "drift": ("AUD", ("g",)),
    "drift-chart": ("AUD", ("g", "enter", "left", "left")),
    "drift-table": ("AUD", ("g", "enter", "v")),
    "drift-method": ("AUD", ("g", "enter", "m")),
    "suspects-too-few": ("AUD", ("s",)),
    "record-drift": ("CUS", ("p", "enter", "0")),
    "late-returns": ("AUD", ("l",)),
    "unverified": ("AUD", ("y",)),
    "check-readings": ("AUD", ("g", "enter", "enter", "2")),
    "check-picture": ("AUD", ("g", "enter", "enter", "3")),
}


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
@pytest.mark.parametrize("name", PAGES)
async def test_the_page_reads_as_it_did(busy: Path, name: str, size: tuple[int, int]) -> None:
    person, keys = PAGES[name]
    async with driven(busy, person, size=size) as d:
        await d.keys(*keys)
        drawn = re.sub(r"head [0-9a-f]+…", lambda m: "head " + "·" * (len(m[0]) - 6) + "…", d.text)  # random by store
        refuse_change(drawn, f"{name}-{size[0]}x{size[1]}")
