"""A bed seen from above: how high it is at each point, and how each screw is to be turned."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.figures.bed.plan import Plan, words


@dataclass(frozen=True, slots=True, kw_only=True)
class BedMap(Plan):
    """A plan as a figure: no surface in space, and nothing that needs a colour."""

    kind: ClassVar[str] = "bed map"

    def in_text(self) -> str:
        """Each height where it is, back at the top; the screws by letters, in words below."""
        from hostctl.report.figures.bed.map_in_text import text_of

        return text_of(self)

    def in_svg(self) -> Picture:
        """Filled discs stand above, rings below, the wider the further; arcs show the turns."""
        from hostctl.report.figures.bed.map_marks import drawn_map

        return drawn_map(self)

    def numbers(self) -> Table:
        """Each height and each turn."""
        screws = (
            (one.name, f"{one.x_mm:g}", f"{one.y_mm:g}", "", words(one)) for one in self.screws
        )
        return Table(
            columns=(
                Column(head="point or screw"),
                Column(head="x", unit="mm", is_number=True),
                Column(head="y", unit="mm", is_number=True),
                Column(head=f"above {self.about}", unit="mm", is_number=True),
                Column(head="turn"),
            ),
            rows=(*self._spot_rows(), *screws),
        )

    def _spot_rows(self) -> Iterator[tuple[str, ...]]:
        for one in self.spots:
            yield one.name, f"{one.x_mm:g}", f"{one.y_mm:g}", self.written(one.height_mm), ""
