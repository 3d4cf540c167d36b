"""How each format is read by those it is for: bytes in, the texts that are met out."""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from markdown_it import MarkdownIt
from openpyxl import load_workbook
from openpyxl.cell.cell import Cell


class Page(HTMLParser):
    """Collects what a page consists of."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in ("meta", "br", "link", "img", "input"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def rows(data: bytes) -> list[dict[str, str]]:
    """Return the rows of a CSV file by their heads."""
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


def cells(data: bytes) -> Iterator[tuple[str, Cell]]:
    """Yield the cells of a workbook that hold something, each with the title of its sheet."""
    for sheet in load_workbook(io.BytesIO(data)).worksheets:
        for row in sheet.iter_rows():
            yield from ((sheet.title, cell) for cell in row if cell.value is not None)


def strings(value: Any) -> Iterator[str]:
    """Yield the texts in data made of dictionaries and lists."""
    if isinstance(value, dict):
        for item in value.values():
            yield from strings(item)
    elif isinstance(value, list):
        for item in value:
            yield from strings(item)
    elif isinstance(value, str):
        yield value


def markdown(data: bytes) -> Page:
    """Return a ticket as the page that CommonMark with tables makes of it."""
    return Page(MarkdownIt("gfm-like", {"html": True, "linkify": False}).render(data.decode()))


def of_json(data: bytes) -> str:
    return " ".join(strings(json.loads(data)))


def of_sarif(data: bytes) -> str:
    """Return a log's texts with doubled braces undone (SARIF 2.1.0, 3.11.5), and what is kept from being a link."""
    return of_json(data).replace("{{", "{").replace("}}", "}").replace("] (", "](")


def of_xml(data: bytes) -> str:
    root = ET.fromstring(data)
    return " ".join(text for part in root.iter() for text in (*part.attrib.values(), part.text or ""))


def of_csv(data: bytes) -> str:
    return " ".join(text for row in rows(data) for text in row.values())


def of_xlsx(data: bytes) -> str:
    return " ".join(f"{title}: {cell.value}" for title, cell in cells(data))


def of_pdf(data: bytes) -> str:
    """Return the text of a PDF's pages; needs Debian's poppler-utils."""
    if shutil.which("pdftotext") is None:
        pytest.skip("needs Debian's poppler-utils")
    command = ["pdftotext", "-raw", "-", "-"]
    return (
        subprocess.run(command, input=data, capture_output=True, check=True)
        .stdout.decode(errors="replace")
        .replace("\f", "\n")
    )
