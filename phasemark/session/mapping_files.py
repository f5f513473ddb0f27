"""Mappings in files of their own, as the commands take them."""

import json
from pathlib import Path

from phasemark.formats.mapping import Mapping, to_plain
from phasemark.formats.mapping_json import read_mapping
from phasemark.store import disk

__all__ = ["read_mapping", "write_mapping"]


def write_mapping(path: Path, mapping: Mapping) -> None:
    """Write a mapping as JSON; raises Unavailable where the disk says no."""
    disk.write_text(path, json.dumps(to_plain(mapping), indent=1, ensure_ascii=False) + "\n")
