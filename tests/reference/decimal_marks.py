#!/usr/bin/env python3
"""Writes decimal_marks.tsv: the decimal mark of each locale with Latin digits, as the Unicode Common Locale Data
Repository has it; another file where one is named. Needs Babel (pip install babel==2.18.0)."""
import sys
from pathlib import Path
from babel import Locale, localedata
from babel.numbers import get_decimal_symbol

rows = {}
for name in sorted(localedata.locale_identifiers()):
    locale = Locale.parse(name)
    # A POSIX locale names no script, and 419 is a continent.
    if locale.script or locale.variant or (locale.territory or "").isdigit():
        continue
    try:
        rows[name] = get_decimal_symbol(locale, numbering_system="latn")
    except Exception:  # a locale without Latin digits
        continue
text = "".join(f"{name}\t{mark}\n" for name, mark in rows.items() if mark in ",.")
(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("decimal_marks.tsv")).write_text(text)
print(len(rows), "locales")
