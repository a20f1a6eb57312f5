"""Which item of the register a certificate is about: by asset number, then by serial number; two or none are asked about."""

from collections.abc import Mapping

from refstd.base.errors import Refusal
from refstd.base.text import key, safe
from refstd.desk.items import ItemShown, items
from refstd.desk.known import named
from refstd.exchange.dcc import ItemOnPaper, Understood
from refstd.register.equipment import Equipment
from refstd.register.lab import Look


class ItemNotSaid(Refusal):
    """The certificate does not say which item of the register it is about; somebody has to."""


def item_of(look: Look, understood: Understood, asset_no: str) -> tuple[ItemShown, int, str, list[str]]:
    """Return the item, its place on the paper, how it was found, and what to watch."""
    register = items(look)
    if asset_no:
        chosen = register[named(look, Equipment, asset_no).id]
        place = _place_on_paper(understood, chosen)
        return chosen, place, "as you said", _agreement(register, chosen, understood.items[place])
    found: dict[tuple[int, int], str] = {}
    for place, paper in enumerate(understood.items):
        ours = [i for i in register.values() if key(i.asset_no) in map(key, paper.numbered("owner", "customer"))]
        how = "by its asset number"
        if not ours:
            serials = {key(n) for n in paper.numbered("manufacturer")}
            ours, how = [i for i in register.values() if i.serial_no and key(i.serial_no) in serials], "by its serial number"  # fmt: skip
        found |= {(i.equipment_id, place): how for i in ours}
    if len(found) != 1:
        told = "; ".join(_item_in_words(p) for p in understood.items)
        several = ", ".join(register[i].asset_no for i, _ in found)
        wrong = f"several items of the register fit the certificate: {several}" if found else "no item of the register fits the certificate"  # fmt: skip
        raise ItemNotSaid(wrong, f"{understood.file}: {told}", "Say which item it is, on the command line with --item.")
    [((number, place), how)] = found.items()
    chosen = register[number]
    return chosen, place, how, _agreement(register, chosen, understood.items[place])


def _item_in_words(paper: ItemOnPaper) -> str:
    numbers = ", ".join(f"{issuer} {number}" for issuer, number in paper.numbers)
    return f"{paper.name} ({numbers})"


def _place_on_paper(understood: Understood, chosen: ItemShown) -> int:
    if len(understood.items) == 1:
        return 0
    places = [n for n, paper in enumerate(understood.items) if _asset_agrees(chosen, paper) or _serial_agrees(chosen, paper)]  # fmt: skip
    if len(places) != 1:
        told = "; ".join(_item_in_words(p) for p in understood.items)
        raise Refusal(
            f"the certificate names {len(understood.items)} items, and {'none' if not places else 'more than one'} of them bears a number of {chosen.asset_no}",
            f"{understood.file}: {told}", "Put the item's serial number on record, or file the certificate by hand.",
        )  # fmt: skip
    return places[0]


def _asset_agrees(chosen: ItemShown, paper: ItemOnPaper) -> bool:
    return key(chosen.asset_no) in map(key, paper.numbered("owner", "customer"))


def _serial_agrees(chosen: ItemShown, paper: ItemOnPaper) -> bool:
    return bool(chosen.serial_no) and key(chosen.serial_no) in map(key, paper.numbered("manufacturer"))


def _agreement(register: Mapping[int, ItemShown], chosen: ItemShown, paper: ItemOnPaper) -> list[str]:
    """Refuse an item whose numbers on record are not those on the paper; return what to watch."""
    where = f"the certificate: {_item_in_words(paper)}"
    serials, owners = paper.numbered("manufacturer"), paper.numbered("owner", "customer")
    if serials and chosen.serial_no and not _serial_agrees(chosen, paper):
        raise Refusal(
            f"the serial number of {chosen.asset_no} on record is {safe(chosen.serial_no)}, on the certificate {safe(', '.join(serials))}",
            where, "Look which of them stands on the item; correct the register, or ask the laboratory.",
        )  # fmt: skip
    if _asset_agrees(chosen, paper):
        return []
    other = next((i.asset_no for i in register.values() if key(i.asset_no) in map(key, owners)), "")
    if other:
        raise Refusal(f"the certificate is about {other}, not about {chosen.asset_no}", where, f"File it for {other}, or ask the laboratory.")  # fmt: skip
    if _serial_agrees(chosen, paper):
        return [f"the certificate calls the item {safe(', '.join(owners))}; its serial number agrees"] if owners else []
    if serials or owners:
        raise Refusal(
            f"no number on the certificate is one of {chosen.asset_no}", where,
            f"Look at the item. If it is this one, put its serial number on record first: `refstd correct item`, {chosen.asset_no}.",
        )  # fmt: skip
    return [f"the certificate gives no asset or serial number: nothing but your word says that it is {chosen.asset_no}"]
