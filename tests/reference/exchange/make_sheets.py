"""Writes the workbooks of `sheets/`: the same invented season through two libraries of others.

XlsxWriter 3.3.1 (Office Open XML) and odfpy 1.4.1 (OpenDocument). Run by hand; the files are kept.
"""

import datetime as dt
import pathlib

import odf.opendocument
import odf.style
import odf.table
import odf.text
import xlsxwriter

OUT = pathlib.Path(__file__).parent / "sheets"
FINDS = [
    # what, date, time of day, lat, lon, depth cm, remark
    ("invented penny", dt.date(2024, 4, 5), dt.time(9, 45), 45.0001, -20.0001, 12.5, 'says "1914"'),
    ("ring pull", dt.date(2024, 4, 5), dt.time(10, 5, 30), 45.0002, -20.0002, None, "two\nlines"),
    ("lead sinker", dt.date(2024, 10, 27), dt.time(14, 0), 45.0003, -20.0003, 20, None),
]
HEADINGS = ["What", "Date", "Time", "Lat", "Lon", "Depth (cm)", "Colour"]
LEVELS = [(-20.0, 45.0, 1.25), (-20.0001, 45.0001, 0.75)]


def xlsx():
    book = xlsxwriter.Workbook(OUT / "season.xlsx")
    # An odd format: the date is one whatever it shows.
    day, clock = book.add_format({"num_format": "d mmm"}), book.add_format({"num_format": "hh:mm"})
    notes = book.add_worksheet("Read me")
    notes.write("A1", "An invented season on an invented beach")
    sheet = book.add_worksheet("Finds")
    sheet.merge_range("A1:G1", "Finds of an invented season")
    sheet.write_row(2, 0, HEADINGS)
    for n, (what, date, time, lat, lon, depth, colour) in enumerate(FINDS, 3):
        sheet.write(n, 0, what)
        sheet.write_datetime(n, 1, date, day)
        sheet.write_datetime(n, 2, time, clock)
        sheet.write_number(n, 3, lat)
        # A formula counts by the value it came to.
        sheet.write_formula(n, 4, f"=-20-{n - 2}/10000", None, lon)
        if depth is not None:
            sheet.write_number(n, 5, depth)
        if colour:
            sheet.write(n, 6, colour)
    sheet.write_formula(4, 5, "=1/0", None, "#DIV/0!")
    levels = book.add_worksheet("Levels")
    levels.write_row(1, 1, ["lon", "lat", "level_m", "sigma_m"])
    for n, row in enumerate(LEVELS, 2):
        levels.write_row(n, 1, [*row, 0.02])
    book.close()


def ods():
    book = odf.opendocument.OpenDocumentSpreadsheet()

    def cell(row, value):
        if value is None:
            made = odf.table.TableCell()
        elif isinstance(value, dt.date):
            made = odf.table.TableCell(valuetype="date", datevalue=value.isoformat())
            made.addElement(odf.text.P(text=value.strftime("%d %b")))
        elif isinstance(value, dt.time):
            made = odf.table.TableCell(valuetype="time", timevalue=value.strftime("PT%HH%MM%SS"))
            made.addElement(odf.text.P(text=value.strftime("%H:%M")))
        elif isinstance(value, str):
            made = odf.table.TableCell(valuetype="string")
            for part in value.split("\n"):
                made.addElement(odf.text.P(text=part))
        else:
            made = odf.table.TableCell(valuetype="float", value=value)
            made.addElement(odf.text.P(text=f"{value:.1f}"))
        row.addElement(made)

    def add(table, values):
        row = odf.table.TableRow()
        for value in values:
            cell(row, value)
        table.addElement(row)

    finds = odf.table.Table(name="Finds")
    add(finds, ["Finds of an invented season"])
    finds.addElement(odf.table.TableRow(numberrowsrepeated=1))
    add(finds, HEADINGS)
    for row in FINDS:
        add(finds, row)
    finds.addElement(odf.table.TableRow(numberrowsrepeated=1_000_000))
    book.spreadsheet.addElement(finds)
    levels = odf.table.Table(name="Levels")
    add(levels, [None])
    add(levels, [None, "lon", "lat", "level_m", "sigma_m"])
    for row in LEVELS:
        add(levels, [None, *row, 0.02])
    book.spreadsheet.addElement(levels)
    book.save(OUT / "season.ods")


xlsx()
ods()
