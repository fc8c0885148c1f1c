"""Holds PDF files to PDF/UA-1 (ISO 14289-1) with a validator that shares no code with the writer, and prints what each fails as JSON.

Run by crates/binder/tests/it/file.rs; by hand: tests/accessible/.venv/bin/python tests/accessible/check.py FILE…
"""

import json
import sys

import page


def failed(path):
    # A binder is no attack: it may be as large as it is.
    report = page.validate_pdf(path, profile="ua1", limits=page.SafetyLimits.unlimited())
    return {"rules": report.rules.total, "failed": [f"{each.rule_id}: {each.message}" for each in report.failures]}


print(json.dumps([failed(path) for path in sys.argv[1:]]))
