"""The report of a run whose kind has a result of its own: as a document, with how it was done."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from hostctl.report.document.blocks import Block, Document, Paragraph, Role
from hostctl.report.enclosed.enclosure import Enclosure
from hostctl.report.whole.done import how_done
from hostctl.report.whole.first import SIMULATED, is_simulated
from hostctl.report.whole.found.conduct import conduct_of
from hostctl.report.whole.result import Conduct, Enclosed


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedOut:
    """How the run was carried out, and the data that come with the report; as in `Report`."""

    conduct: tuple[Conduct, ...]
    rig: Conduct | None
    enclosed: Enclosed
    made_at: datetime
    program: str


def carried_out(enclosure: Enclosure, enclosed: Enclosed) -> CarriedOut:
    """enclosed: how the data are carried."""
    conduct = (conduct_of(source) for source in enclosure.sources)
    return CarriedOut(
        conduct=tuple(one for one in conduct if one is not None),
        rig=None,
        enclosed=enclosed,
        made_at=enclosure.made_at,
        program=enclosure.program,
    )


def own_report(told: Document, carried: CarriedOut) -> Document:
    """What was found, then how it was carried out. told: the document of the kind's question."""
    simulated = is_simulated(carried)
    return Document(
        title=f"Simulated · {told.title}" if simulated else told.title,
        blocks=(*_begun(told.blocks, simulated=simulated), *how_done(carried)),
    )


def _begun(blocks: tuple[Block, ...], *, simulated: bool) -> Iterator[Block]:
    """A simulation is said to be one right below the question."""
    said = Paragraph(text=SIMULATED, role=Role.CAUTION)
    for block in blocks:
        yield block
        if simulated and isinstance(block, Paragraph) and block.role is Role.QUESTION:
            yield said
