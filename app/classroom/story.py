"""The story of a class for its teacher: what it got through and where it was stuck, no names."""

from __future__ import annotations

from importlib.util import find_spec
from typing import TYPE_CHECKING, Final

from app import resources
from app.printing.report import Report, ReportPart, ReportTable
from app.printing.report_forms import report_html, report_pdf

if TYPE_CHECKING:
    from pathlib import Path

    from app.classroom.room import Story

_NAME: Final = "class-story"
_WORST: Final = 3
"""So many steps are named as those where the class was stuck."""


_NOTE: Final = (
    "A learner counts once at a step, however often she said it. Who it was is known to nobody, "
    "and nothing of it was kept but these numbers."
)


def class_report(story: Story) -> Report | None:
    """Return the report; None if nothing was shown to a class yet."""
    lesson = story.lesson
    if lesson is None or not story.steps:
        return None
    steps = [one for one in story.steps if one.at < len(lesson.steps)]
    minutes = round(sum(one.seconds for one in story.steps) / 60)
    through = f"{len(steps)} of {len(lesson.steps)} steps in {minutes} minutes"
    stuck = sorted((one for one in steps if one.stuck), key=lambda one: -one.stuck)[:_WORST]
    where = [
        f"Step {one.at + 1}, {one.stuck} of {story.seats} stuck: {lesson.steps[one.at].say}"
        for one in stuck
    ]
    rows = tuple(
        (
            f"{one.at + 1}. {lesson.steps[one.at].say}",
            f"{one.seconds / 60:.0f}",
            str(one.stuck) if one.stuck else "",
        )
        for one in steps
    )
    phones = "1 phone" if story.seats == 1 else f"{story.seats} phones"
    parts = (
        ReportPart("How far", (f"{through}; {phones} followed.",)),
        ReportPart(
            "Where it was stuck",
            tuple(where) or ("Nobody said so.",),
            notes=(_NOTE,),
        ),
        ReportPart("Step by step", tables=(ReportTable(("Step", "Minutes", "Stuck"), rows),)),
    )
    return Report(lesson.title, "A class", parts)


def write_story(story: Story) -> Path | None:
    """
    Write the story beside the journal as a page, and as PDF where ReportLab is; return the page.

    None if nothing was shown yet. Raises OSError if it cannot be written.
    """
    report = class_report(story)
    if report is None:
        return None
    folder = resources.data_folder() / "printed"
    folder.mkdir(parents=True, exist_ok=True)
    number = next(n for n in range(1, 100_000) if not (folder / f"{_NAME}-{n}.html").exists())
    path = folder / f"{_NAME}-{number}.html"
    path.write_text(report_html(report, resources.text("shared/print/sheet.css")), encoding="utf-8")
    if find_spec("reportlab") is not None:
        from app.printing.as_pdf import PdfFonts  # noqa: PLC0415 (an optional extra)

        regular, bold = (
            resources.path(f"assets/fonts/Andika-{one}.ttf") for one in ("Regular", "Bold")
        )
        path.with_suffix(".pdf").write_bytes(report_pdf(report, PdfFonts(regular, bold)))
    return path
