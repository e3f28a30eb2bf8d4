"""Items of evidence that are usually not yet collected when the track is looked at.

All probabilities are the analyst's and are to be replaced by those of the case. A position as found
is not a position in flight until marks agree: each row keeps a share for that.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.weighing.evidence import LETS_GO, LETS_GO_OTHERS
from neutralpoint.weighing.value import Item, measured_table

RUNS = ("stabilizer-runaway", "tab-runaway", "intermittent-runaway")
LOADS = ("load-shift-aft", "load-shift-forward")
SURFACE = {"stabilizer": "stabilizer", "tab": "trim tab"}
ACTUATOR = "actuator"

# A trim actuator with its marks: error of the position that the marks give, share of cases in which
# length and marks do not agree and nothing can be said, and how far from the trimmed position
# counts as moved, the first and last as shares of the travel. Analyst's estimate.
MARK_ERROR, MARKS_SILENT, MOVED = 0.02, 0.25, 0.1

# Tracks of earlier flights: chance of departures from level flight like those of a trim that moves
# by itself, on flights without a fault, and that a fault has shown itself so before. Analyst's
# estimate.
EARLIER_TRACKS = "earlier-tracks"
EVENTS_OTHERWISE = 0.05
EVENTS_WITH_FAULT = {
    **dict.fromkeys(RUNS, 0.25),
    "autopilot-mistrim": 0.15,
}

PARTS = "parts-places"


def _for(names: tuple[str, ...], row: tuple[float, ...]) -> dict[str, tuple[float, ...]]:
    return dict.fromkeys(names, row)


def earlier_item(ordinary: float, fault: dict[str, float]) -> Item:
    """Tracks of earlier flights as an item.

    Args:
        ordinary: Chance of such events without a fault that makes them.
        fault: Chance that a fault has made one, by cause.

    Returns:
        The item. Source: events of both kinds are independent, 1 - (1 - ordinary)(1 - fault).
    """
    seen = {name: 1.0 - (1.0 - ordinary) * (1.0 - chance) for name, chance in fault.items()}
    return Item(
        "tracks of earlier flights",
        "low",
        ("no trim-like event", "trim-like events"),
        (1.0 - ordinary, ordinary),
        {name: (1.0 - chance, chance) for name, chance in seen.items()},
        caution="Turbulence, traffic and hands make such events too.",
        key=EARLIER_TRACKS,
    )


ITEMS: tuple[Item, ...] = (
    Item(
        "trim breaker and disconnect",
        "low",
        ("as normal", "pulled or pressed"),
        (0.95, 0.05),
        _for(RUNS, (0.6, 0.4)),
        caution="Impact opens breakers.",
        key="breaker",
    ),
    Item(
        "load and its lashings: marks of a shift",
        "medium",
        ("in place", "moved under way"),
        (0.9, 0.1),
        _for(LOADS, (0.2, 0.8)),
        caution="Impact moves loads; look for marks under way.",
        key="load-marks",
    ),
    Item(
        "propeller blades and engines",
        "medium",
        ("power at impact", "little or none"),
        (0.85, 0.15),
        {"power-loss-all": (0.1, 0.9), "power-loss-one": (0.4, 0.6)},
        caution="Impact turns blades; slash marks and spool state weigh more than blade angle.",
        key="propeller",
    ),
    Item(
        "voice and area sound",
        "high",
        ("nothing of note", "trim heard", "strain in a voice"),
        (0.6, 0.05, 0.35),
        _for(RUNS, (0.25, 0.45, 0.3)) | {"incapacitation": (0.9, 0.05, 0.05)},
        caution="Strain in a voice is weak: it tells that force was used, not against what.",
        key="sound",
    ),
    Item(
        "blade-rate line in the recorded sound",
        "high",
        ("steady", "changed with power", "not readable"),
        (0.6, 0.1, 0.3),
        {"power-loss-all": (0.05, 0.65, 0.3), "power-loss-one": (0.15, 0.55, 0.3)},
        caution="A constant-speed propeller hides a change of power until it reaches its stop.",
        key="audio-line",
    ),
    Item(
        "elevator and linkage",
        "medium",
        ("continuous", "parted or stuck before impact"),
        (0.9, 0.1),
        _for(("separation", "elevator-jam"), (0.2, 0.8)),
        caution="Overload at impact parts rods too: the fracture faces decide.",
        key="linkage",
    ),
    Item(
        "wing, tail and their fittings: marks of overload",
        "medium",
        ("none before impact", "overload before impact"),
        (0.95, 0.05),
        {"structural-failure": (0.3, 0.7)},
        caution="Impact overloads too: the sense of bending and the place of the parts decide.",
        key="overload-marks",
    ),
    Item(
        "trim tab against its actuator",
        "medium",
        ("agree", "do not agree"),
        (0.9, 0.1),
        {"separation": (0.35, 0.65)},
        caution="A tab swings at impact once its rod breaks.",
        key="tab",
    ),
    Item(
        "flaps",
        "low",
        ("as the case says", "elsewhere"),
        (0.93, 0.07),
        {"tailplane-stall": (0.25, 0.75)},
        caution="Flaps move at impact: tracks and screw jacks weigh more than the surface.",
        key="flap",
    ),
    Item(
        "load sheet and weighing",
        "low",
        ("within limits", "outside"),
        (0.9, 0.1),
        _for(LOADS, (0.75, 0.25)),
        caution="A sheet tells what was meant to be on board.",
        key="load-sheet",
    ),
    Item(
        "raw radar plots, primary returns among them",
        "low",
        ("one return to the end", "parts before the end"),
        (0.96, 0.04),
        {"separation": (0.7, 0.3)},
        caution="Wind carries light parts; a return may be ground clutter.",
        key="raw-plots",
    ),
    Item(
        "places of the parts on the ground",
        "medium",
        ("together", "some came off in flight"),
        (1.0 - LETS_GO_OTHERS, LETS_GO_OTHERS),
        {cause: (1.0 - chance, chance) for cause, chance in LETS_GO.items()},
        caution="Parts that came off in flight do not say what broke first, nor why; water, people "
        "and animals move them.",
        key=PARTS,
    ),
    Item(
        "earlier flights and the technical log",
        "low",
        ("nothing of note", "trim faults", "control faults", "loading out of the ordinary"),
        (0.85, 0.05, 0.05, 0.05),
        _for(RUNS, (0.63, 0.3, 0.03, 0.04))
        | {"autopilot-mistrim": (0.68, 0.22, 0.06, 0.04)}
        | _for(("separation", "elevator-jam"), (0.7, 0.1, 0.16, 0.04))
        | _for(LOADS, (0.72, 0.05, 0.05, 0.18)),
        caution="Faults that were noted and put right are common on flights that end well.",
        key="earlier-flights",
    ),
    Item(
        "light and clouds: a natural horizon",
        "low",
        ("in sight", "not in sight"),
        (0.7, 0.3),
        _for(("spiral-dive", "somatogravic-input"), (0.1, 0.9)),
        caution="A horizon in sight is not one looked at, and clouds are local.",
        key="horizon",
    ),
    earlier_item(EVENTS_OTHERWISE, EVENTS_WITH_FAULT),
)


def find_item(key: str) -> Item:
    """The table of an item.

    Args:
        key: One of the keys of `ITEMS`.

    Returns:
        The item.
    """
    return next(item for item in ITEMS if item.key == key)


def actuator_item(
    drive: str, causes: tuple[str, ...], ends: list[Array], travel: tuple[float, float], at: float
) -> Item:
    """What the trim actuator would show, from where simulated flights leave it.

    Args:
        drive: Which surface it moves: "stabilizer" or "tab".
        causes: Names of the listed causes.
        ends: Trim at the end by cause, drawn from flights that follow the track, rad, (n,) each.
        travel: Of the surface, rad.
        at: Where it was trimmed, rad.

    Returns:
        The item; outcomes are three ranges of the surface's angle.
    """
    span = travel[1] - travel[0]
    edges = np.array([at - MOVED * span, at + MOVED * span])
    table = measured_table(ends, edges, MARK_ERROR * span, MARKS_SILENT)
    return Item(
        f"{SURFACE[drive]} actuator: length and the marks inside it",
        "medium",
        ("well below where it was trimmed", "near where it was trimmed", "well above it"),
        tuple(table.mean(axis=0)),
        {name: tuple(row) for name, row in zip(causes, table, strict=True)},
        source="flights of this case; share of silent marks: analyst's estimate",
        caution="As found is not in flight until length and marks agree.",
        key=ACTUATOR,
    )
