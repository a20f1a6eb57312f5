"""Counting pieces one by one before a kit goes out or when it comes back; and where to look for one that is missing."""

from collections.abc import Callable, Sequence

from refstd.desk.pieces import Missing, ToCount, missing_of, to_count_back
from refstd.tui.asking import AskLine, Choose
from refstd.tui.pages import Page

Counts = tuple[str, ...]


def count_pieces(page: Page, to_count: Sequence[ToCount], way: str, then: Callable[[Counts], None]) -> None:
    """Ask for the count of each piece, then go on with the lines that the desk reads; at once where there is none."""
    lines: list[str] = []

    def ask_next() -> None:
        if len(lines) == len(to_count):
            then(tuple(lines))
            return
        piece = to_count[len(lines)]
        beside = (
            f"piece {len(lines) + 1} of {len(to_count)}; {piece.expected} {'on record' if way == 'out' else 'went out'}"
        )
        page.app.push_screen(
            AskLine(f"{piece.asset_no}: how many '{piece.name}' do you count {way}?", "", beside), counted
        )

    def counted(number: str | None) -> None:
        if number is not None:
            piece = to_count[len(lines)]
            lines.append(f"{piece.asset_no}: {piece.name}={number.strip()}")
            ask_next()

    ask_next()


def count_in(page: Page, asset_nos: Sequence[str], then: Callable[[Counts, str, str], None]) -> None:
    """Ask for the counts of what went out with these items, and where a piece may be that is missing, then go on."""
    lab, when = page.refstd.lab, page.refstd.when()

    def counted(lines: Counts) -> None:
        where_to_look(page, asset_nos, lines, lambda part, area: then(lines, part, area))

    page.ask(
        lambda: to_count_back(lab, asset_nos, when),
        lambda pieces: count_pieces(page, pieces, "in", counted) if pieces else then((), "", ""),
    )


def where_to_look(page: Page, asset_nos: Sequence[str], lines: Counts, then: Callable[[str, str], None]) -> None:
    """Ask on which part and in which area a missing piece may be, where a count does not agree; else go on at once."""
    lab, when = page.refstd.lab, page.refstd.when()
    page.ask(lambda: missing_of(lab, asset_nos, lines, when), lambda found: _ask_part(page, found, then))


def _ask_part(page: Page, found: tuple[Missing, ...], then: Callable[[str, str], None]) -> None:
    if not found:
        then("", "")
        return
    says = "; ".join(f"{m.asset_no} {m.says}" for m in found)
    parts = found[0].parts
    zones = dict(reversed(parts))

    def part_chosen(part: str | None) -> None:
        if part is not None:
            page.app.push_screen(
                AskLine(
                    f"In which area of {part} may it be?", zones[part], "A finding holds the item and the job's lots."
                ),
                lambda area: then(part, area) if area is not None else None,
            )

    question = f"{says}. Esc to count again; else: on which aircraft or part of job {found[0].job} may it be?"
    page.app.push_screen(Choose(question, list(dict.fromkeys(p for p, _ in parts))), part_chosen)
