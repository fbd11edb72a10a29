#!/usr/bin/env python3
"""Writes workbooks with openpyxl, a library that has nothing in common with the reader under test.

    python3 make.py

All content is invented. The workbooks are committed, so that tests need no python.
"""
import datetime
import os

import openpyxl

here = os.path.dirname(os.path.abspath(__file__))
when = datetime.datetime(2026, 11, 20, 12, 0, 0)


def book():
    wb = openpyxl.Workbook()
    wb.properties.created = wb.properties.modified = when
    return wb, wb.active


def save(wb, name):
    wb.save(os.path.join(here, name + ".xlsx"))


def ground(i):
    """Ground level of stake i, m: a hill."""
    return round(50 + 0.8 * i - 0.02 * i * i, 3)


# A survey as an office sends it: a title, a head over two rows with merged cells, an empty column, units under the head, a footer;
# beside it a sheet of notes, an old survey and a hidden one.
wb, ws = book()
ws.title = "Notes"
ws["A1"] = "Survey of the invented Plover main"
ws["A2"] = "Surveyed in May, two readings each"
ws = wb.create_sheet("Plover LS")
ws["A1"] = "Plover main: long section"
ws.merge_cells("A1:F1")
ws["A3"], ws["B3"], ws["D3"] = "Point", "Chainage", "Level"
ws.merge_cells("A3:A4")
ws.merge_cells("B3:B4")
ws.merge_cells("D3:E3")
ws["D4"], ws["E4"] = "Invert", "Ground"
ws["B5"], ws["D5"], ws["E5"] = "m", "m AOD", "m AOD"
for i in range(41):
    r = 6 + i
    ws.cell(r, 1, "P%d" % i)
    ws.cell(r, 2, 25.0 * i)
    c = ws.cell(r, 4, ground(i) - 1.75)
    c.number_format = "0.0"  # shown rounded, stored whole
    ws.cell(r, 5, ground(i)).number_format = '0.00" m"'
ws["A48"], ws["D48"], ws["E48"] = "Average", "=AVERAGE(D6:D46)", "=AVERAGE(E6:E46)"
old = wb.create_sheet("Plover LS old")
old.append(["Chainage [m]", "Invert level [m]"])
for i in range(12):
    old.append([90.0 * i, 40 + i % 3])
draft = wb.create_sheet("Plover draft")
draft.append(["Chainage [m]", "Invert level [m]"])
for i in range(400):
    draft.append([2.5 * i, 48 + i % 2])
draft.sheet_state = "hidden"
save(wb, "plover")

# Chainage by formulas that were never computed, and stakes by number format.
wb, ws = book()
ws.title = "Sheet1"
ws.append(["Chainage", "Axis level [m]", "Step [m]"])
ws.append([0, 10.5, None])
for i in range(30):
    ws.append(["=A%d+C%d" % (i + 2, i + 3), 10.5 + 0.1 * i, 20.5])
for r in range(2, 33):
    ws.cell(r, 1).number_format = "0+000.0"
save(wb, "formulas")

# Figures stored as text with a decimal comma, heads in German.
wb, ws = book()
ws.title = "Laengsschnitt"
ws.append(["Station [m]", "Sohle [m ü. NN]"])
for i in range(20):
    ws.append([("%.1f" % (i * 12.5)).replace(".", ","), ("%.2f" % (101.25 + i * 0.15)).replace(".", ",")])
save(wb, "comma")

# Feet in the heads.
wb, ws = book()
ws.append(["Station (ft)", "Crown elevation (ft)"])
for i in range(15):
    ws.append([100.0 * i, 320.0 + i])
save(wb, "feet")

# Two heights missing.
wb, ws = book()
ws.append(["Chainage [m]", "Invert level [m]"])
for i in range(60):
    ws.append([10.0 * i, None if i in (7, 31) else 20 + 0.01 * i])
save(wb, "missing")

# What a spreadsheet does to figures: a date, an error, a formula that cannot be worked out here.
wb, ws = book()
ws.title = "Spoilt"
ws.append(["Name", "Chainage [m]", "Invert level [m]"])
for i in range(12):
    ws.append(["S%d" % i, 10.0 * i, 20 + 0.01 * i])
ws["C4"] = datetime.date(2026, 5, 12)
ws["C6"] = "#REF!"
ws["C6"].data_type = "e"
ws["C8"] = '=INDIRECT("C7")'
other = wb.create_sheet("Whole")
other.append(["Chainage [m]", "Invert level [m]"])
for i in range(4):
    other.append([10.0 * i, 20 + 0.01 * i])
save(wb, "spoilt")

# Merged data cells: one level for three rows.
wb, ws = book()
ws.title = "Merged"
ws.append(["Chainage [m]", "Invert level [m]"])
for i in range(80):
    ws.append([10.0 * i, 20 + 0.01 * i])
ws.merge_cells("B11:B13")
save(wb, "merged")

# Tables of equipment: pumps by points, pipes, air valves, other equipment.
wb, ws = book()
ws.title = "Pumps"
ws.append(["Pump schedule"])
ws.append(["Station", "Pump", "No of pumps", "Duty", None, "Efficiency", "NPSHr"])
ws.merge_cells("D2:E2")
ws.append([None, None, None, "Flow", "Head", None, None])
ws.append([None, None, None, "L/s", "m", "%", "m"])
ws.append(["River", "P1", 2, 0, 42, None, None])
ws.append([None, None, None, 40, 38.5, 71, 2.1])
ws.append([None, None, None, 80, 30, 78.5, 3.4])
ws.append(["River", "Jockey", 1, 0, 45, None, None])
ws.append([None, None, None, 10, 36, None, None])
pipes = wb.create_sheet("Pipes")
pipes.append(["From", "To", "Pipe size", "Bore [mm]", "Wall [mm]", "Material", "k [mm]", "PN"])
pipes.append(["0+000", "0+620", "EN 545 C40 DN 200", None, None, None, None, None])
pipes.append(["0+620", "1+000", "DN 200 lined", 198.5, 6.3, "steel", 0.1, 16])
pipes.append(["Total", None, None, None, None, None, None, None])
av = wb.create_sheet("AV schedule")
av.append(["No", "Chainage", "Type", "Seat height [m]", "Remarks"])
for n, at, kind, height, remark in [(1, 25, "Alder 80", 0.45, "in the pit"), (2, 510.5, "Birch 80", None, None), (3, 990, None, 0.6, "beside the road")]:
    av.append([n, at, kind, height, remark])
    av.cell(av.max_row, 2).number_format = '0.0" m"'
eq = wb.create_sheet("Other equipment")
eq.append(["Item", "Kind", "Ch.", "Bore", "Setting [m]", "Closed", "Loss coefficient"])
eq.append(["IV 1", "Gate valve", "0+010", "200 mm", None, "no", 0.2])
eq.append(["S 1", "Washout", "0+400", "100 mm", None, None, None])
eq.append(["SV 1", "Pressure sustaining valve", "0+950", None, 12.5, None, None])
eq.append(["AV 4", "Air valve", "0+700", None, None, None, None])
save(wb, "equipment")

# The same with faults in every table.
wb, ws = book()
ws.title = "Pumps"
ws.append(["Pump", "Flow", "Head [m]", "Efficiency [%]"])
ws.append(["P1", 0, 42, None])
ws.append(["P1", 40, 38, 140])
ws.append(["P1", 40, 38, 70])
pipes = wb.create_sheet("Pipes")
pipes.append(["From [m]", "To [m]", "Size"])
pipes.append([0, 500, "EN 545 C40 DN 201"])
pipes.append([900, 500, "EN 545 C40 DN 200"])
eq = wb.create_sheet("Equipment")
eq.append(["Kind", "Chainage [m]", "Bore [mm]", "State"])
eq.append(["gate valve", 12, None, "clsed"])
eq.append(["scour", 40, None, None])
eq.append(["isolatng valv", 90, None, None])
eq.append(["scour", "2+5", "100 cm", None])
eq.append(["check valve", None, None, "closed"])
save(wb, "faulty")
