"""Reads tables back with readers that share no code with the writers, and prints what they found as one JSON object.

CSV by the csv module of Python, a workbook by openpyxl. Run by crates/tables/tests/it/back.rs and
crates/throwbar/tests/it/tables.rs; by hand: tests/tables/.venv/bin/python tests/tables/read_back.py FILE…
"""

import csv
import json
import sys

import openpyxl


def of_csv(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.reader(file, strict=True))


def of_xlsx(path):
    book = openpyxl.load_workbook(path)
    return {
        "created": book.properties.created.isoformat(),
        "title": book.properties.title,
        "sheets": [
            {
                "title": sheet.title,
                "frozen": sheet.freeze_panes,
                "rows": [[cell.value for cell in row] for row in sheet.iter_rows()],
                "formulas": sum(cell.data_type == "f" for row in sheet.iter_rows() for cell in row),
            }
            for sheet in book
        ],
    }


print(json.dumps({path: of_xlsx(path) if path.endswith(".xlsx") else of_csv(path) for path in sys.argv[1:]}))
