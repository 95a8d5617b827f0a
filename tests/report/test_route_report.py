"""What a route says in words, tables, one document and pictures."""

import json

import numpy as np
import pytest
import xarray
from small_route import small_route

from simengine.report.flight.table import NOTHING
from simengine.report.route.document import route_json
from simengine.report.route.pictures import route_drawers
from simengine.report.route.run import write_route
from simengine.report.route.table import noise_words, route_tables
from simengine.report.route.text import possible, route_conclusion, route_sentences, saving_sentence
from simengine.results.cautions import CAUTIONS
from simengine.results.route_catalogue import VERDICTS


def with_saving(saving, low, high, verdict):
    """The small route with one made-up saving against its second hub."""
    dataset = small_route().copy(deep=True)
    changes = {"saving": saving, "saving_low": low, "saving_high": high, "saving_share": 10.0 * saving}
    for name, value in changes.items():
        dataset[name].values[1] = value
    dataset["verdict"].values[1] = VERDICTS.index(verdict)
    return dataset


def test_the_answer_names_litres_each_way_and_every_other_hub():
    dataset = small_route()
    words = route_conclusion(dataset)
    for leg, fuel in zip(dataset["leg"].values, dataset["fuel"].values[0], strict=True):
        assert f"{leg} {fuel:.2f} L (" in words
    for hub in dataset["hub"].values[1:]:
        assert f"Against {hub}: " in words
    assert "band holds the stated inputs only" in words


@pytest.mark.parametrize(
    ("figures", "told", "warns"),
    [
        ((0.5, 0.3, 0.7, "saves"), "0.50 L (5.0 %) LESS (+0.30 to +0.70 L saved", False),
        ((0.1, -0.1, 0.3, "within_uncertainty"), "SMALLER than its uncertainty: no saving to claim", False),
        ((-0.5, -0.7, -0.3, "burns_more"), "0.50 L (5.0 %) MORE (-0.70 to -0.30 L saved", True),
        ((0.1, 0.05, 0.15, "saves"), "It is less than the 2 % that two fuel readings can show.", False),
        (
            (0.5, np.nan, np.nan, "not_estimated"),
            "its uncertainty was not estimated, so it is no claim",
            False,
        ),
        ((np.nan, np.nan, np.nan, "cannot_be_compared"), "no comparison", True),
    ],
)
def test_saving_in_words(figures, told, warns):
    sentence = saving_sentence(with_saving(*figures), 1)
    assert told in sentence.words
    assert sentence.warns is warns


def test_a_leg_that_cannot_be_flown_comes_first_and_warns():
    dataset = small_route(gale=True)
    first = route_sentences(dataset)[0]
    assert first.warns
    assert first.words.startswith("Leg 'out' CANNOT be flown as asked: the wind of 144 km/h")
    assert not possible(dataset)
    assert "as far as it can be flown" in route_conclusion(dataset)


def test_tables_have_a_row_for_each_leg_and_hub():
    dataset = small_route()
    plan, flown, hubs, beside, inputs = route_tables(dataset)
    assert plan.row_count == dataset.sizes["leg"]
    assert flown.row_count == dataset.sizes["leg"] + 1
    assert hubs.row_count == beside.row_count == dataset.sizes["hub"]
    assert inputs.row_count == dataset.sizes["input"] + 1


def test_noise_is_a_trend_in_words():
    assert noise_words(0.4) == "about the same"
    assert noise_words(-7.6) == "quieter, trend -8 dB"
    assert noise_words(np.nan) == NOTHING


def test_document_is_strict_json_with_units():
    document = route_json(small_route(gale=True))
    text = json.dumps(document, allow_nan=False)
    assert json.loads(text)["figures"]["ground_speed"][0][0] is None
    assert document["possible"] is False
    assert document["units"]["trip_fuel"] == "L"
    assert document["dimensions"]["fuel"] == ["hub", "leg"]
    assert document["cautions"] == list(CAUTIONS)


def test_a_leg_that_cannot_be_flown_is_drawn():
    profile = route_drawers(small_route(gale=True))["profile"](small_route(gale=True))
    assert any("not flown" in text.get_text() for axes in profile.axes for text in axes.texts)


def test_files_are_written_and_open_without_warnings(tmp_path):
    paths = write_route(small_route(), tmp_path / "a.route.nc").paths
    assert [path.name for path in paths] == [
        "a.route.nc",
        *(f"a.route.{name}.{form}" for name in ("profile", "fuel", "saving") for form in ("png", "svg")),
    ]
    with xarray.open_dataset(tmp_path / "a.route.nc") as stored:
        assert stored.attrs["study"] == "route"
        assert float(stored["trip_fuel"][0]) == pytest.approx(float(small_route()["trip_fuel"][0]))


def test_without_a_hub_to_compare_with_there_is_no_map():
    assert set(route_drawers(small_route().isel(hub=[0]))) == {"profile", "fuel"}


def test_pictures_of_many_legs_are_drawn():
    """Forty legs: the legs are numbered and the bars are those of the trip."""
    dataset = small_route()
    many = xarray.concat(
        [dataset.isel(leg=[0])] * 40, dim="leg", data_vars="minimal", coords="minimal", compat="override"
    )
    many["leg_start"] = ("leg", np.arange(40) * 60.0)
    for draw in route_drawers(many).values():
        draw(many)
