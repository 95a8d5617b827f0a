"""A test card as one page of html, as text, and as a document of stable keys."""

from dataclasses import dataclass
from importlib.resources import files
from itertools import groupby

import xarray
from jinja2 import Environment, StrictUndefined

from simengine.report.calibrate.facts import figure
from simengine.report.cautions import caution_list, short_caution
from simengine.report.document_shapes import CardDocument
from simengine.report.envelope.document import plain
from simengine.report.flight.table import DOCUMENT_VERSION, sentences

ON_TOP = (1, 4, 6)  # cautions that stand above everything else on a card, by their place in the list


@dataclass(frozen=True)
class Line:
    """One line of the card, ready to print."""

    stage: str
    action: str
    look: str
    words: str
    value: str
    band: str
    warns: bool


def card_lines(dataset: xarray.Dataset) -> list[Line]:
    """Every line."""
    found = []
    for place in range(dataset.sizes["item"]):
        row = dataset.isel(item=place)
        value, band = float(row["item_value"]), float(row["item_band"])
        happens = bool(int(row["item_happens"]))
        look = str(row["look"].values)
        found.append(
            Line(
                stage=str(row["stage"].values),
                action=str(row["action"].values),
                look=look,
                words=str(row["item_words"].values),
                value=figure(value, band) if happens else "does not happen",
                band=f"± {figure(band, band)} {row['item_units'].values}" if happens else "",
                warns=not happens or "NOT SURE" in look or "stays OFF" in look,
            )
        )
    return found


def card_html(dataset: xarray.Dataset) -> str:
    """The page: self-contained, without scripts."""
    template = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True).from_string(
        files("simengine.report.calibrate").joinpath("card.html.j2").read_text(encoding="utf-8")
    )
    cautions = caution_list()
    stages = [
        {"name": name, "lines": list(lines)}
        for name, lines in groupby(card_lines(dataset), lambda line: line.stage)
    ]
    return template.render(
        title=str(dataset.attrs.get("title", "")),
        first_cautions=[short_caution(), *(cautions[place] for place in ON_TOP)],
        cautions=cautions,
        limit=f"{float(dataset['engine_rpm_limit']):.0f}",
        stages=stages,
        basis=str(dataset.attrs.get("band_basis", "")),
        source=str(dataset.attrs.get("source", "")),
        scenario=str(dataset.attrs.get("simengine_scenario_sha256", ""))[:12],
    )


def card_text(dataset: xarray.Dataset, *, all_cautions: bool = True) -> str:
    """The card as text."""
    cautions = caution_list()
    lines = [short_caution(), *(cautions[place] for place in ON_TOP), ""]
    lines += [
        f"TEST CARD: {dataset.attrs.get('title', '')}",
        f"Never above {float(dataset['engine_rpm_limit']):.0f} ENGINE rpm. Every rpm here is the ENGINE's.",
        "From safe to risky: go on only if the stage before came out inside its bands.",
    ]
    for name, items in groupby(card_lines(dataset), lambda line: line.stage):
        lines += ["", name]
        for line in items:
            words = f"{line.words}{', ' + line.action if line.action else ''}"
            mark = "!!" if line.warns else "  "
            # The look first, as on the page: it is what the pilot checks; the figure stays in its column.
            lines.append(
                f"{mark} {line.value:>8} {line.band:<13} {line.look}{': ' if line.look else ''}{words}"
            )
    lines += ["", str(dataset.attrs.get("band_basis", ""))]
    if all_cautions:
        lines += ["", *(f"{number}. {caution}" for number, caution in enumerate(cautions, 1))]
    return "\n".join(lines) + "\n"


def card_json(dataset: xarray.Dataset) -> CardDocument:
    """Every figure under the names of the result file; `null` for what does not happen."""
    attributes = dataset.attrs
    names = [str(name) for name in dataset.data_vars]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "card",
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "band_basis": attributes.get("band_basis", ""),
        "items": plain(dataset["item"]),
        "figures": {name: plain(dataset[name]) for name in names},
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }
