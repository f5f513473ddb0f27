"""Mappings kept for the next files of the same layout, that is with the same columns."""

import json
from dataclasses import dataclass

from phasemark.formats.mapping import Mapping, to_plain
from phasemark.formats.mapping_json import parse_mapping
from phasemark.formats.preview import Preview
from phasemark.model.errors import BadData

LayoutKey = tuple[str, ...]
_MOST = 50


def layout_key(preview: Preview) -> LayoutKey:
    """The titles of all columns ('' where there are none): files with the same ones are of one layout."""
    return tuple(" ".join(heading.title.split()) for heading in preview.columns)


@dataclass(frozen=True, slots=True)
class KeptMappings:
    """The mapping used last for each layout, newest last."""

    entries: tuple[tuple[LayoutKey, Mapping], ...] = ()

    def mapping_for(self, key: LayoutKey) -> Mapping | None:
        """The mapping used last for files with these columns."""
        return dict(self.entries).get(key)

    def with_mapping(self, key: LayoutKey, mapping: Mapping) -> "KeptMappings":
        """The same with one more; the oldest are forgotten."""
        others = tuple(entry for entry in self.entries if entry[0] != key)
        return KeptMappings((*others, (key, mapping))[-_MOST:])

    def to_json(self) -> str:
        """As a text that settings can hold."""
        return json.dumps([{"titles": list(key), "mapping": to_plain(mapping)} for key, mapping in self.entries])

    @staticmethod
    def from_json(text: str) -> "KeptMappings":
        """From such a text; what cannot be understood (of another version, damaged) is left out."""
        try:
            plain = json.loads(text) if text else []
        except ValueError:
            plain = []
        kept = KeptMappings()
        for entry in plain if isinstance(plain, list) else []:
            try:
                kept = kept.with_mapping(tuple(map(str, entry["titles"])), parse_mapping(entry["mapping"]))
            except (BadData, KeyError, TypeError):
                continue
        return kept
