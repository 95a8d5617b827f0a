"""A comparison as one document of stable keys."""

import xarray

from simengine.report.cautions import caution_list
from simengine.report.compare.facts import Row, case_names, change_facts, event_rows, figure_rows
from simengine.report.compare.text import compare_conclusion
from simengine.report.document_shapes import Case, CompareDocument, FigureRow
from simengine.report.flight.table import DOCUMENT_VERSION, finite
from simengine.results.tolerances import difference_tolerance


def compare_json(dataset: xarray.Dataset) -> CompareDocument:
    """Changes, figures, events; `null` for what did not happen. Lists run along `cases`."""
    relative = [float(value) for value in dataset["case_relative_tolerance"].values]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "compare",
        "title": dataset.attrs["title"],
        "source": dataset.attrs.get("source", ""),
        "cases": [case_json(dataset, case) for case in range(dataset.sizes["case"])],
        "changes": [
            {
                "case": case_names(dataset)[change.case],
                "key": change.key,
                "first": change.first,
                "here": change.here,
                "kind": str(change.kind),
            }
            for change in change_facts(dataset)
        ],
        "unlike": dataset.attrs.get("unlike", ""),
        "conclusion": compare_conclusion(dataset),
        "alignment": dataset.attrs["alignment"],
        "figures": [figure_json(dataset, row, relative) for row in figure_rows(dataset)],
        "events": [
            {
                "event_kind": str(row.kind),
                "phase": row.phase_name,
                "order": row.order,
                "event_elapsed": [finite(value) for value in row.elapsed],
                "event_engine_rpm": [finite(value) for value in row.rpm],
                "event_blade_angle": [finite(value) for value in row.blade_angle],
                "same": list(row.same),
            }
            for row in event_rows(dataset)
        ],
        "cautions": list(caution_list()),
    }


def case_json(dataset: xarray.Dataset, case: int) -> Case:
    """What one case is."""

    def own(key: str) -> str:
        return str(dataset[f"case_{key}"].values[case])

    return {
        "name": case_names(dataset)[case],
        "file": own("file"),
        "title": own("title"),
        "scenario_sha256": own("scenario_sha256"),
        "fidelity": own("fidelity"),
        "outcome": own("outcome"),
        "hub_kind": own("hub_kind"),
        "version": own("version"),
        "relative_tolerance": float(dataset["case_relative_tolerance"].values[case]),
    }


def figure_json(dataset: xarray.Dataset, row: Row, relative: list[float]) -> FigureRow:
    """One figure in every case."""
    return {
        "figure": row.name,
        "phase": row.phase,
        "units": str(dataset[row.name].attrs.get("units", "")),
        "better": row.better,
        "values": list(row.words) if row.words else [finite(value) for value in row.values],
        "differences": [finite(value) for value in row.differences],
        "tolerances": [difference_tolerance(row.name, relative[0], own) for own in relative],
        "verdicts": [str(verdict) for verdict in row.verdicts],
    }
