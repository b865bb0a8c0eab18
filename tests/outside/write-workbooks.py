"""Writes one register as the spreadsheet programs' own libraries do: openpyxl (.xlsx) and odfpy (.ods), into the folder that is named.

Typed as a person types: numbers as numbers, days as days, a tag that is a number, a station merged over its lines, a sheet of notes before
the register, a hidden one behind it, a comment, a formula with no saved value.
"""

import datetime
import sys

from odf.office import Annotation
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableProperties
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P
from openpyxl import Workbook
from openpyxl.comments import Comment

folder = sys.argv[1]

DAY = datetime.date(2019, 7, 5)
HEADS = ["Asset tag", "Kind", "Model", "Serial", "Assigned to", "Station", "District", "Status", "In service since", "Length (in)", "Force (lbf)"]
# The station of the first two lines is one merged cell.
LINES = [
    [1003, "hose", "Line A", "0004711", "Station 1 reserve", 1, 1, "in service", DAY, 360.125, None],
    ["HT-2", "spreader", "Jaw B", 987654321, "Station 1 reserve", None, 1, "out of service", None, 28.5, 10500.5],
    ["HT-3", "ram", "Ram C", "=1+1", "Station 2 reserve", 2, 1, "in service", datetime.datetime(2021, 2, 3), None, None],
]
MERGED = (1, 2)  # lines below the headings
STATION = HEADS.index("Station")


def xlsx():
    book = Workbook()
    notes = book.active
    notes.title = "Notes"
    notes["A1"] = "Ask the shop about the ram"
    sheet = book.create_sheet("Register")
    sheet["A1"] = "Rescue tools, all stations"
    sheet.append([])
    sheet.append(HEADS)
    for line in LINES:
        sheet.append(line)
    first = 3 + MERGED[0]
    sheet.merge_cells(start_row=first, end_row=first + 1, start_column=STATION + 1, end_column=STATION + 1)
    sheet["A4"].comment = Comment("seen on the floor", "somebody")
    old = book.create_sheet("Old")
    old.append(HEADS)
    old.append(["GONE-1", "hose", "Line A", "1", "Station 1 reserve", 1, 1, "in service"])
    old.sheet_state = "hidden"
    book.save(f"{folder}/register.xlsx")


def cell(value, **more):
    if value is None or (isinstance(value, str) and value.startswith("=")):
        return TableCell(**more)
    if isinstance(value, (datetime.date, datetime.datetime)):
        made = TableCell(valuetype="date", datevalue=value.isoformat(), **more)
        made.addElement(P(text=value.strftime("%d.%m.%y")))
    elif isinstance(value, (int, float)):
        made = TableCell(valuetype="float", value=str(value), **more)
        made.addElement(P(text=str(value).replace(".", ",")))
    else:
        made = TableCell(valuetype="string", **more)
        made.addElement(P(text=value))
    return made


def row(table, cells):
    line = TableRow()
    for one in cells:
        line.addElement(one)
    table.addElement(line)


def ods():
    book = OpenDocumentSpreadsheet()
    hidden = Style(name="hidden", family="table")
    hidden.addElement(TableProperties(display="false"))
    book.automaticstyles.addElement(hidden)
    notes = Table(name="Notes")
    row(notes, [cell("Ask the shop about the ram")])
    register = Table(name="Register")
    row(register, [cell("Rescue tools, all stations")])
    register.addElement(TableRow(numberrowsrepeated=1))
    row(register, [cell(head) for head in HEADS])
    for n, line in enumerate(LINES, 1):
        cells = [cell(value) for value in line]
        if n == MERGED[0]:
            cells[STATION] = cell(line[STATION], numberrowsspanned=2, numbercolumnsspanned=1)
            comment = Annotation()
            comment.addElement(P(text="seen on the floor"))
            cells[0].addElement(comment)
        elif n == MERGED[1]:
            cells[STATION] = CoveredTableCell()
        row(register, cells)
    # As programs leave it behind: blanks to the end of the sheet.
    rest = TableRow(numberrowsrepeated=1048570)
    rest.addElement(TableCell(numbercolumnsrepeated=16384))
    register.addElement(rest)
    old = Table(name="Old", stylename=hidden)
    row(old, [cell(head) for head in HEADS])
    row(old, [cell(value) for value in ["GONE-1", "hose", "Line A", "1", "Station 1 reserve", 1, 1, "in service"]])
    for table in (notes, register, old):
        book.spreadsheet.addElement(table)
    book.save(f"{folder}/register.ods")


xlsx()
ods()
