#!/usr/bin/env python3
"""Validates a record against its published schema, with jsonschema (PyPI).

Run: python tests/reference/schema_check.py SCHEMA RECORD
"""
import copy, json, sys

from jsonschema import Draft202012Validator, FormatChecker

schema, record = (json.load(open(path, encoding="utf-8")) for path in sys.argv[1:3])
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema, format_checker=FormatChecker())
faults = [f"{'/'.join(map(str, fault.absolute_path))}: {fault.message}" for fault in validator.iter_errors(record)]
assert not faults, "\n".join(faults)
# A schema that lets everything pass checks nothing.
for change in (lambda r: r.pop("totals"), lambda r: r.update(case="O0O0O"), lambda r: r["totals"].update(opened=-1), lambda r: r["boxes"].append({"state": "gone"}),
               lambda r: r.update(overlaps=[{"entry": 1, "at": r["begun"], "lesion": 1, "distal": 1, "proximal": 2, "mm": -2, "how": "measured"}])):
    wrong = copy.deepcopy(record)
    change(wrong)
    assert not validator.is_valid(wrong), "the schema lets a wrong record pass"
print(f"{sys.argv[2]}: as its schema says")
