"""Reads what the program writes with libraries of another language, and says as JSON what it found.

Python's csv module (RFC 4180), openpyxl (XLSX, ECMA-376) and icalendar (RFC 5545).
"""

import csv
import json
import sys
from pathlib import Path

import icalendar
import openpyxl


def table(path):
    with open(path, newline="", encoding="utf-8-sig") as file:
        rows = list(csv.reader(file, strict=True))
    return {"header": rows[0], "rows": rows[1:]}


def workbook(path):
    book = openpyxl.load_workbook(path)
    sheets = {}
    for sheet in book.worksheets:
        rows = list(sheet.iter_rows())
        sheets[sheet.title] = {
            # A kind without a record has a sheet without a header.
            "header": [cell.value for cell in rows[0]] if rows else [],
            "rows": max(len(rows) - 1, 0),
            # n a number, s a text, b yes or no, d a date, f a formula.
            "types": sorted({cell.data_type for row in rows[1:] for cell in row if cell.value is not None}),
            "frozen": sheet.freeze_panes,
        }
    return sheets


def calendar(path):
    whole = icalendar.Calendar.from_ical(Path(path).read_bytes())
    entries = whole.walk("VTODO")
    return {
        "version": str(whole["VERSION"]),
        "entries": [
            {
                "uid": str(entry["UID"]),
                "summary": str(entry["SUMMARY"]),
                "due": str(entry["DUE"].dt) if "DUE" in entry else None,
                "alarms": len(entry.walk("VALARM")),
            }
            for entry in entries
        ],
        "errors": [str(error) for entry in entries for error in entry.errors],
    }


folder = Path(sys.argv[1])
json.dump(
    {
        "plants": table(folder / "plants.csv"),
        "passport": table(folder / "passport.csv"),
        "observations": workbook(folder / "observations.xlsx"),
        "project": workbook(folder / "project.xlsx"),
        "agenda": calendar(folder / "agenda.ics"),
    },
    sys.stdout,
)
