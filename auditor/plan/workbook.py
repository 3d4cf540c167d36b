"""A plan kept as a spreadsheet: one sheet a section, one row an entry; read into the same data as YAML."""

from __future__ import annotations

from auditor.yamltree import YamlTree


def parse(data: bytes) -> YamlTree:
    raise NotImplementedError
