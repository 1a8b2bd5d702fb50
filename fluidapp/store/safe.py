"""Texts that are safe to open in a spreadsheet: none can begin a formula, and each reads back as it was."""

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence

_RISKY = re.compile(r"\s*'*\s*[=+\-@＝＋－＠\t\r]")
_MARKED = re.compile(r"'\s*'*\s*[=+\-@＝＋－＠\t\r]")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def quoted(text: str) -> str:
    """``text`` with an apostrophe before it where a spreadsheet could take it for a formula; plain numbers stay.

    >>> quoted("=1+1"), quoted("-5.2"), quoted("@sum"), quoted("oil, dark")
    ("'=1+1", '-5.2', "'@sum", 'oil, dark')
    """
    return f"'{text}" if _RISKY.match(text) and not _NUMBER.fullmatch(text) else text


def unquoted(text: str) -> str:
    """The text behind :func:`quoted`.

    >>> unquoted(quoted("=1+1")), unquoted(quoted("'=1+1")), unquoted("it's")
    ('=1+1', "'=1+1", "it's")
    """
    return text[1:] if _MARKED.match(text) else text


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    """A CSV table, safe to open; columns in which nothing stands are left out by whoever chooses ``columns``."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([quoted(row[column]) for column in columns] for row in rows)
    return out.getvalue()
