"""Practice days as words or as an RRULE (RFC 5545), read into one checked rule text."""

from __future__ import annotations

import re
from datetime import date

from scheduler.errors import CalendarError

__all__ = ["DAY_CODES", "rule_parts", "rule_text"]

DAY_CODES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
"""RFC 5545's codes of the days, Monday first as in `date.weekday`."""

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_GROUPS = {"weekday": {0, 1, 2, 3, 4}, "weekend": {5, 6}, "day": set(range(7))}
_SHORTEST_NAME = 3
_ASIDE = {"and", "every", "on", "each"}
_CODE = f"(?:{'|'.join(DAY_CODES)})"
_PARTS = {
    "FREQ": ("DAILY or WEEKLY", r"DAILY|WEEKLY"),
    "INTERVAL": ("1 to 366", r"[1-9]|[1-9]\d|[12]\d\d|3[0-5]\d|36[0-6]"),
    "BYDAY": ("days such as MO,TH", rf"{_CODE}(?:,{_CODE}){{0,6}}"),
    "BYMONTH": ("months such as 1,2,12", r"(?:[1-9]|1[0-2])(?:,(?:[1-9]|1[0-2])){0,11}"),
    "WKST": ("a day such as MO", _CODE),
    "COUNT": ("1 to 99999", r"[1-9]\d{0,4}"),
    "UNTIL": ("a date such as 20251231", r"\d{8}(?:T\d{6}Z?)?"),
}


def rule_text(words: str) -> str:
    """The RRULE that `words` mean, e.g. ``FREQ=WEEKLY;BYDAY=MO,TH`` for "Mondays and Thursdays".

    Understood are "every day", "weekdays", "weekends", names of days, any of
    them after "not", and an RRULE whose unit is the day or the week (months
    and years are not whole numbers of days). Raises CalendarError otherwise.
    """
    if "=" in words:
        parts = rule_parts(words.strip().upper().removeprefix("RRULE:"))
        return ";".join(f"{name}={value}" for name, value in parts.items())
    chosen: set[int] = set()
    plain = re.sub(r"[,&+]", " ", words.lower()).split()
    left_out = plain[:1] == ["not"]
    for word in plain[left_out:]:
        if word in _ASIDE:
            continue
        chosen |= _named(word, words)
    if left_out:
        chosen = set(range(7)) - chosen
    if not chosen or not plain[left_out:]:
        raise _unread(words)
    if len(chosen) == len(DAY_CODES):
        return "FREQ=DAILY"
    return "FREQ=WEEKLY;BYDAY=" + ",".join(DAY_CODES[day] for day in sorted(chosen))


def rule_parts(text: str) -> dict[str, str]:
    """The parts of an RRULE by name, each checked; UNTIL as a date. Raises CalendarError."""
    parts: dict[str, str] = {}
    for part in text.split(";"):
        name, _, value = part.strip().partition("=")
        if name not in _PARTS or name in parts:
            raise CalendarError(
                f"practice days, {name[:20]!r}: expected each of {', '.join(_PARTS)} at most once in {text[:60]!r}"
            )
        expected, pattern = _PARTS[name]
        if not re.fullmatch(pattern, value, re.ASCII):
            raise CalendarError(f"practice days, {name}: expected {expected}, got {value[:20]!r}")
        parts[name] = value
    if "FREQ" not in parts or {"COUNT", "UNTIL"} <= parts.keys():
        raise CalendarError(
            f"practice days {text[:60]!r}: expected one FREQ, and COUNT or UNTIL but not both (RFC 5545)"
        )
    if "UNTIL" in parts:
        until = parts["UNTIL"][:8]
        try:
            date.fromisoformat(until)
        except ValueError:
            raise CalendarError(f"practice days, UNTIL: expected a date such as 20251231, got {until!r}") from None
        # Practice days are dates, and RFC 5545 wants UNTIL to be of the same type.
        parts["UNTIL"] = until
    return parts


def _named(word: str, words: str) -> set[int]:
    single = "daily" if word == "daily" else word.removesuffix("s")
    if single == "daily":
        return set(range(7))
    if single in _GROUPS:
        return _GROUPS[single]
    if len(single) >= _SHORTEST_NAME:
        for number, day in enumerate(_DAYS):
            if day.startswith(single):
                return {number}
    raise _unread(words)


def _unread(words: str) -> CalendarError:
    return CalendarError(
        f"practice days {words[:60]!r}: expected 'every day', 'weekdays', 'not Sundays', names of days, "
        "or an RRULE such as FREQ=WEEKLY;BYDAY=MO,TH"
    )
