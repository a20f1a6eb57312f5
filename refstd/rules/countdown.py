"""How long until something is due, or how long it is overdue, in the words of somebody who has to be there."""

from datetime import datetime, timedelta


def how_long(span: timedelta) -> str:
    """Return a length of time in whole minutes, such as '12 min', '3 h', '1 h 5 min' or '2 d 4 h'; what is begun counts not."""
    minutes = int(span.total_seconds() // 60)
    hours, days = minutes // 60, minutes // 1440
    if days:
        return f"{days} d" + (f" {hours % 24} h" if hours % 24 else "")
    if not hours:
        return f"{minutes} min"
    return f"{hours} h" + (f" {minutes % 60} min" if minutes % 60 else "")


def counted_down(due_at: datetime, now: datetime, due_words: str) -> tuple[str, bool]:
    """Return 'by ..., in 12 min' or 'overdue since ..., for 1 h 5 min', and whether it is overdue. At the instant itself it is not."""
    if now <= due_at:
        return f"by {due_words}, in {how_long(due_at - now)}", False
    return f"overdue since {due_words}, for {how_long(now - due_at)}", True
