#!/usr/bin/env python3
"""Writes kinds.xlsx with openpyxl, a library that has nothing in common with the reader under test.

    python3 make.py

The workbook is committed, so that tests need no python.
"""
import datetime
import os

import openpyxl

here = os.path.dirname(os.path.abspath(__file__))
when = datetime.datetime(2026, 11, 20, 12, 0, 0)

wb = openpyxl.Workbook()
wb.properties.created = wb.properties.modified = when
ws = wb.active
ws.title = "Kinds & more"
ws["A1"] = "text with <, & and \u00d8"
ws["A2"] = 12.345678901234567
ws["A2"].number_format = '0.00" m"'
ws["A3"] = 0.07
ws["A3"].number_format = "0.0%"
ws["A4"] = datetime.date(2026, 5, 12)
ws["A5"] = datetime.datetime(2026, 5, 12, 14, 30, 5)
ws["A6"] = True
ws["A7"] = "#REF!"
ws["A7"].data_type = "e"
ws["A8"] = 1250.4
ws["A8"].number_format = "0+000.0"
ws["A9"] = 1250
ws["A9"].number_format = '#,##0.000,"\u00a0km"'
ws["A10"] = "12,5"  # a figure as text
ws["A11"] = -3e-9
ws["C2"] = "=A8*2"
ws["C3"] = "=SUM(C2,A8:A9)"
ws["C4"] = "=A7+1"
ws["C5"] = "=C6"
ws["C6"] = "=C5"
ws["C7"] = "='Hidden one'!B2/4"
ws["C8"] = '=INDIRECT("A2")'
ws["C9"] = '=IF(A2>12,"deep","flat")'
ws["E20"] = 5
ws.merge_cells("A12:C13")
ws["A12"] = "merged"
ws.row_dimensions[3].hidden = True
ws.column_dimensions["C"].hidden = True

hidden = wb.create_sheet("Hidden one")
hidden["B2"] = 10
hidden.sheet_state = "hidden"
chart = wb.create_chartsheet("Drawing")
wb.save(os.path.join(here, "kinds.xlsx"))
