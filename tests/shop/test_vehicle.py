import networkx
import pytest

from refinishlib.entry import BadEntry
from refinishlib.shop import vehicle
from refinishlib.shop.shop import load

CAR = load().vehicle


def test_panels_have_room_for_their_area_and_zones_that_fill_them():
    for panel in CAR.panels:
        assert panel.flat + panel.crown + panel.edge == pytest.approx(1)
        assert 0 < panel.area_m2 < 1.5 * panel.length_m * panel.width_m
        assert panel.material in ("steel", "aluminium", "plastic")


def test_every_seam_joins_two_panels_and_is_no_longer_than_they_are():
    for seam in CAR.seams:
        first, second = map(CAR.panel, seam.panels)
        along = "length_m" if seam.runs == "along" else "width_m"
        assert seam.length_m <= 1.1 * min(getattr(first, along), getattr(second, along))
        assert seam.clear_break in ("gap", "body line", "none")
        assert seam.faces in ("same way", "other way")


def test_the_body_hangs_together_and_left_mirrors_right():
    graph = networkx.Graph(seam.panels for seam in CAR.seams)
    body = graph.subgraph(name for name in graph if "mirror" not in name)
    assert set(body) == {panel.name for panel in CAR.panels if "mirror" not in panel.name}
    assert networkx.is_connected(body)
    swapped = {
        frozenset(n.replace("left", "x").replace("right", "left").replace("x", "right") for n in e) for e in graph.edges
    }
    assert swapped == {frozenset(e) for e in graph.edges}


def test_a_panel_is_nobody_elses_neighbour():
    with pytest.raises(BadEntry, match="neighbour of bonnet"):
        vehicle.across_m(CAR, CAR.panel("bonnet"), CAR.panel("tailgate"))
    with pytest.raises(BadEntry, match="panel: 'hood'"):
        CAR.panel("hood")
