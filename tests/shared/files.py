"""Files byte for byte as other programs write them.

No spreadsheet program runs here: the bytes are put together by hand. The CSV files follow LibreOffice's export
dialogue (character set, field and text delimiter, RFC 4180 quotation). The workbook is modelled on what its Calc
writes: shared strings, attributes spelled out as "false", dates as day numbers under a format, formulas with values.
"""

from __future__ import annotations

import io
import struct
import zipfile

import openpyxl

# The text as a spreadsheet shows it: a name with accents, a note over two lines, a cell with the delimiter in it.
ROWS = [
    ["First name", "Surname", "Note"],
    ["Siân", "O’Hagan", "comes late,\nleaves early"],
    ["Zoë", "Müller; Frei", 'says "yes"'],
]


def csv_bytes(rows=ROWS, *, encoding="utf-8", delimiter=",", end="\n", bom=b""):
    """Cells are quoted where RFC 4180 asks for it, as LibreOffice does by default."""

    def quoted(cell):
        risky = any(mark in cell for mark in (delimiter, '"', "\n"))
        return '"' + cell.replace('"', '""') + '"' if risky else cell

    text = "".join(delimiter.join(map(quoted, row)) + end for row in rows)
    return bom + text.encode(encoding)


def openpyxl_bytes(*rows, title="Sheet", more=()):
    """A workbook of one sheet, and further sheets given as (title, rows, state)."""
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    for name, others, state in more:
        sheet = book.create_sheet(name)
        sheet.sheet_state = state
        for row in others:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


NS = "http://schemas.openxmlformats.org"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
ROW = (
    '<row r="{n}" customFormat="false" ht="12.8" hidden="false" customHeight="false" outlineLevel="0" '
    'collapsed="false">{cells}</row>'
)


def calc_bytes():
    """One player, born 29 February 2004 (day number 38046), and a formula with its value."""
    strings = ["Name", "Born", "Seasons", "Double", "Siân O’Hagan"]
    header = "".join(f'<c r="{letter}1" s="0" t="s"><v>{n}</v></c>' for n, letter in enumerate("ABCD"))
    player = (
        '<c r="A2" s="0" t="s"><v>4</v></c><c r="B2" s="1"><v>38046</v></c><c r="C2" s="0" t="n"><v>6</v></c>'
        '<c r="D2" s="0" t="n"><f aca="false">C2*2</f><v>12</v></c>'
    )
    sheet = (
        f'{HEAD}<worksheet xmlns="{NS}/spreadsheetml/2006/main" xmlns:r="{NS}/officeDocument/2006/relationships">'
        '<sheetPr filterMode="false"><pageSetUpPr fitToPage="false"/></sheetPr><dimension ref="A1:D2"/>'
        '<sheetViews><sheetView showFormulas="false" showGridLines="true" tabSelected="true" workbookViewId="0"/>'
        '</sheetViews><sheetFormatPr defaultColWidth="11.53515625" defaultRowHeight="12.8" zeroHeight="false"/>'
        f"<sheetData>{ROW.format(n=1, cells=header)}{ROW.format(n=2, cells=player)}</sheetData></worksheet>"
    )
    shared = "".join(f'<si><t xml:space="preserve">{text}</t></si>' for text in strings)
    xf = '<xf numFmtId="{n}" fontId="0" fillId="0" borderId="0" xfId="0" applyFont="false" applyBorder="false"/>'
    styles = (
        f'{HEAD}<styleSheet xmlns="{NS}/spreadsheetml/2006/main"><numFmts count="2">'
        '<numFmt numFmtId="164" formatCode="General"/><numFmt numFmtId="165" formatCode="dd/mm/yyyy"/></numFmts>'
        '<fonts count="1"><font><sz val="10"/><name val="Arial"/></font></fonts>'
        '<fills count="1"><fill><patternFill patternType="none"/></fill></fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="164" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        f'<cellXfs count="2">{xf.format(n=164)}{xf.format(n=165)}</cellXfs>'
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
    )
    package = f"{NS}/package/2006"
    office = f"{NS}/officeDocument/2006/relationships"
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    parts = {
        "_rels/.rels": f'{HEAD}<Relationships xmlns="{package}/relationships"><Relationship Id="rId1" '
        f'Type="{office}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/_rels/workbook.xml.rels": f'{HEAD}<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="rId1" Type="{office}/styles" Target="styles.xml"/>'
        f'<Relationship Id="rId2" Type="{office}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="rId3" Type="{office}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        "xl/workbook.xml": f'{HEAD}<workbook xmlns="{NS}/spreadsheetml/2006/main" xmlns:r="{office}">'
        '<fileVersion appName="Calc"/><workbookPr backupFile="false" showObjects="all" date1904="false"/>'
        '<sheets><sheet name="Sheet1" sheetId="1" state="visible" r:id="rId2"/></sheets></workbook>',
        "xl/worksheets/sheet1.xml": sheet,
        "xl/styles.xml": styles,
        "xl/sharedStrings.xml": f'{HEAD}<sst xmlns="{NS}/spreadsheetml/2006/main">{shared}</sst>',
        "[Content_Types].xml": f'{HEAD}<Types xmlns="{package}/content-types">'
        '<Default Extension="xml" ContentType="application/xml"/>'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{kind}.styles+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{kind}.worksheet+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}.sharedStrings+xml"/></Types>',
    }
    return zipped(parts)


def zipped(parts):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return out.getvalue()


def ole_bytes(*streams):
    """The head of a compound file, which old and password-locked workbooks are, with the names of its streams."""
    magic = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
    return magic + struct.pack("<504x") + b"".join(name.encode("utf-16-le") for name in streams)
