"""findings.csv and findings.xlsx: read by the libraries that read such files, and nothing in them is calculated."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date, datetime
from functools import cache

import pytest
from openpyxl import load_workbook

from auditor.reports import csv, xlsx
from auditor.reports.view import view_of
from tests.compare.site import conforming
from tests.reports.everything import QUARRY, SIGNS, every_outcome, planted, whole_view
from tests.reports.reading import cells, rows


@cache
def as_csv() -> bytes:
    return csv.FORMAT.render(whole_view())


@cache
def as_xlsx() -> bytes:
    return xlsx.FORMAT.render(whole_view())


SHEETS = ["Audit", "Findings", "Service paths", "Devices", "Unverified", "Not understood"]
FORMULA = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""OWASP, "as_csv() Injection": what a cell must not begin with."""


def test_a_row_each():
    found = rows(as_csv())
    assert [row["setting"] for row in found if row["result"] in ("finding", "approved")] == [
        finding.finding.setting for group in whole_view().groups for finding in group.findings
    ]
    counted = [row["result"] for row in found]
    assert counted.count("unverified") == len(every_outcome().unverified)
    assert counted.count("not understood") == 1
    (approved,) = [row for row in found if row["result"] == "approved"]
    assert approved["approval"].startswith("approved until 2099-12-31 by site owner, ticket 4711")
    assert (approved["expected"], approved["observed"], approved["kind"]) == ("10", "20", "differs")
    assert {row["site"] for row in found} == {"Quarry Road Veterinary Clinic (QRC-01)"}
    assert {row["audited on"] for row in found} == {str(every_outcome().audited_on)}


def test_lines_end_as_rfc_4180_has_it_and_every_row_has_all_fields():
    text = as_csv().decode("utf-8-sig")
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert all(None not in row and None not in row.values() for row in rows(as_csv()))


def test_a_site_that_conforms_has_rows_of_its_captures_and_of_what_nobody_can_verify():
    view = view_of(conforming(QUARRY).report(environment={"QUARRY_GUEST": "otters are welcome here"}))
    found = rows(csv.FORMAT.render(view))
    assert {(row["result"], row["kind"]) for row in found} <= {
        ("unverified", "cannot"),
        ("captured", ""),
        ("limit", ""),
    }
    captured = [row["device"] for row in found if row["result"] == "captured"]
    assert captured == [device.name for device in view.devices]
    assert csv.FORMAT.render(view).decode("utf-8-sig").startswith('"result","number","consequence"')


@pytest.mark.parametrize("sign", SIGNS)
def test_no_cell_is_a_formula(sign: str):
    view = view_of(planted(SIGNS[sign]))
    for row in rows(csv.FORMAT.render(view)):
        assert not [text for text in row.values() if text.lstrip(" ").startswith(FORMULA)]
    found = list(cells(xlsx.FORMAT.render(view)))
    assert {cell.data_type for _, cell in found} <= {"s", "n"}
    assert all(isinstance(cell.value, int) for _, cell in found if cell.data_type == "n")
    begun = [cell for _, cell in found if str(cell.value).startswith(("=", "+", "-", "@"))]
    assert all(cell.quotePrefix for cell in begun)
    assert bool(begun) == (sign in ("formula", "formula after blanks", "minus"))


@pytest.mark.parametrize("text", ["-5", "@x", "=1+1", "+49 30 5550", "  =1", "\t=1", "\uff1d1", "#N/A", "TRUE", "'=1"])
def test_text_stays_the_text_it_is(text: str):
    view = view_of(planted(text))
    assert any(text.strip().lstrip("'") in row["observed"] for row in rows(csv.FORMAT.render(view)))
    observed = [cell for title, cell in cells(xlsx.FORMAT.render(view)) if title == "Findings" and cell.column == 9]
    assert text.replace("\t", "  ") in {cell.value for cell in observed}
    assert {cell.data_type for cell in observed} == {"s"}


def test_the_workbook_is_made_for_people():
    book = load_workbook(io.BytesIO(as_xlsx()))
    assert book.sheetnames == SHEETS
    for sheet in book.worksheets:
        assert sheet.freeze_panes == "A2"
        assert sheet.auto_filter.ref == sheet.dimensions
        assert all(cell.font.bold for cell in sheet[1])
        assert all(8 <= column.width <= 120 for column in sheet.column_dimensions.values())
    assert book["Devices"]["F2"].value == every_outcome().devices[0].counts.planned


def test_the_workbook_has_the_day_of_the_audit_and_no_other():
    archive = zipfile.ZipFile(io.BytesIO(as_xlsx()))
    assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    properties = load_workbook(io.BytesIO(as_xlsx())).properties
    assert properties.created == properties.modified == datetime(2026, 11, 25)  # noqa: DTZ001 - as openpyxl has it
    assert every_outcome().audited_on == date(2026, 11, 25)
    assert xlsx.FORMAT.render(view_of(every_outcome())) == as_xlsx()


def test_a_workbook_has_no_formula_link_or_macro():
    archive = zipfile.ZipFile(io.BytesIO(xlsx.FORMAT.render(view_of(planted(SIGNS["formula"])))))
    assert not [name for name in archive.namelist() if re.search("vba|macro|externalLink|drawing", name)]
    for name in archive.namelist():
        if name.startswith("xl/worksheets/"):
            assert not re.search("<f>|<f |hyperlink", archive.read(name).decode())


def test_characters_by_number_are_not_read_as_characters():
    # ECMA-376, part 1, 22.9.2.19: _x000A_ in a text is a line break, unless its first underscore is written _x005F_
    texts = [cell.value for _, cell in cells(xlsx.FORMAT.render(view_of(planted("a_x000A_b"))))]
    assert "a_x005F_x000A_b" in texts


def test_a_cell_is_never_longer_than_a_spreadsheet_can_hold():
    many = "/".join("y" * 1900 for _ in range(3))
    faults = [[many] * 12]
    assert len(xlsx._text(faults[0])) < 32_767
    assert xlsx._text(faults[0]).endswith("more characters)")
