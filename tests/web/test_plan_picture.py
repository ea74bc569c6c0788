"""The picture of a plan: labels that can be read, names that are only text."""

from itertools import pairwise
from typing import Any
from xml.etree.ElementTree import fromstring

from app.planning.units import EVERY_OTHER
from app.web.drawing import WIDTH
from app.web.plans.picture import LINE_HEIGHT, picture

# Widest letter of a plain system font at 16 units, and the widest digit or space.
LETTER, DIGIT = 10.5, 9.2


def answer(ends: dict[str, float]) -> dict[str, Any]:
    """Return as much of a plan's answer as the picture uses."""
    return {
        "ascent_starts_min": 18.0,
        "run_min": 22.0,
        "first_to_turn": next(iter(ends)),
        "divers": [
            {"id": name, "name": name, "end_gauge_bar": end, "reserve_in_force_bar": 50.0}
            for name, end in ends.items()
        ],
        "curve": [
            {"minute": 0.0, "depth_m": 0.0, "gauges_bar": [190.0 for _ in ends]},
            {"minute": 18.0, "depth_m": 8.0, "gauges_bar": [(190 + end) / 2 for end in ends.values()]},
            {"minute": 22.0, "depth_m": 0.0, "gauges_bar": list(ends.values())},
        ],
    }


def test_labels_at_the_ends_of_lines_do_not_cover_each_other_and_fit() -> None:
    ends = {"Maximiliane": 61.0, "Ann": 61.0, "Bo": 60.0, "Cy": 62.0, "Eva": 3.0}
    svg = fromstring(picture(answer(ends), 100))
    labels = [e for e in svg.iter("text") if float(e.get("x", 0)) > 232 and e.text != "min"]
    places = sorted(float(e.get("y", 0)) for e in labels)
    assert len(places) == len(ends)
    assert all(after - before >= LINE_HEIGHT - 0.2 for before, after in pairwise(places))
    for label in labels:
        name, _, bar = (label.text or "").rpartition(" ")
        assert float(label.get("x", 0)) + len(name) * LETTER + (len(bar) + 1) * DIGIT <= WIDTH
    drawn = list(svg.iter("polyline"))[1:]
    dashes = [e.get("stroke-dasharray", "") for e in drawn]
    assert len(set(dashes)) == len(ends), "each diver has a line of another style"
    assert [e.get("class") for e in drawn].count("stroke first") == 1 and dashes[0] == ""


def test_a_name_is_text_and_a_cylinder_that_runs_out_stays_on_the_picture() -> None:
    drawn = picture(answer({"<b>&lt;": -12.0, "Bo": 40.0}), 100)
    svg = fromstring(drawn)
    assert "<b>" not in drawn and any("<b>&lt;" in (e.text or "") for e in svg.iter("text"))
    assert svg.get("role") == "img" and svg.find("title") is not None and svg.find("desc") is not None
    height = float((svg.get("viewBox") or "").split()[3])
    ys = [
        float(y)
        for e in svg.iter("polyline")
        for y in (p.split(",")[1] for p in (e.get("points") or "").split())
    ]
    assert min(ys) >= 0 and max(ys) <= height
    assert all(e.get("style") is None for e in svg.iter())


def test_the_turn_of_the_first_is_marked_and_everything_is_in_the_readers_units() -> None:
    kept = answer({"Ann": 61.0, "Bo": 60.0})
    kept["divers"][0]["minutes_to_turn_on_profile"] = 12.0
    svg = fromstring(picture(kept, 100, EVERY_OTHER))
    words = [e.text or "" for e in svg.iter("text")]
    assert {"Depth in ft", "Pressure in psi, cautious rate", "1460", "730", "Ann 880", "26"} <= set(words)
    assert "Turn 1460 psi, reserve 730 psi" in (svg.findtext("desc") or "")
    (mark,) = svg.iter("circle")
    assert 44 < float(mark.get("cx", 0)) < 226
    assert list(fromstring(picture(answer({"Ann": 120.0}), 100)).iter("circle")) == []
