"""Paints of the built-in shop by their toners' names, and their colours, for tests that are about something else."""

from refinishlib.colour import predict
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.lamp import lamp
from refinishlib.colour.optics import mixture, of_formula
from refinishlib.shop.shop import load

SHOP = load()


def mixed(names, masses_g):
    return mixture(SHOP.picked(*names), masses_g)


def paint_of(title):
    return of_formula(SHOP.colour(title))


def reflectance(names, masses_g, **conditions):
    return predict.reflectance(mixed(names, masses_g), conditions_of(**conditions))


def lab(names, masses_g, *, lamps=("D65",), **conditions):
    return predict.lab(mixed(names, masses_g), conditions_of(**conditions), lamps=[lamp(name) for name in lamps])


def conditions_of(**given):
    if "angles_deg" in given:
        given["angles_deg"] = tuple(given["angles_deg"])
    return Conditions(**given)
