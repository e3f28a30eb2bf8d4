"""Items of evidence that are usually not yet collected when the track is looked at.

All probabilities are the analyst's and are to be replaced by those of the case. A position as found
is not a position in flight until marks agree: each row keeps a share for that.
"""

from __future__ import annotations

from neutralpoint.weighing.value import Item

RUNS = ("stabilizer-runaway", "tab-runaway", "trim-restarts")


def _for(names: tuple[str, ...], row: tuple[float, ...]) -> dict[str, tuple[float, ...]]:
    return dict.fromkeys(names, row)


ITEMS: tuple[Item, ...] = (
    Item(
        "trim actuator extension and the marks inside it",
        "medium",
        ("where it was trimmed", "well away from it"),
        (0.85, 0.15),
        _for(RUNS, (0.15, 0.85)) | {"separation": (0.6, 0.4), "autopilot-lets-go": (0.4, 0.6)},
        caution="As found is not in flight until extension and marks agree.",
    ),
    Item(
        "trim breaker and disconnect",
        "low",
        ("as normal", "pulled or pressed"),
        (0.95, 0.05),
        _for(RUNS, (0.6, 0.4)),
        caution="Impact opens breakers.",
    ),
    Item(
        "load and its lashings",
        "medium",
        ("in place", "moved before impact"),
        (0.9, 0.1),
        _for(("load-shift-aft", "load-shift-forward"), (0.2, 0.8)),
        caution="Impact moves loads; look for marks under way.",
    ),
    Item(
        "propeller blades and engines",
        "medium",
        ("power at impact", "little or none"),
        (0.85, 0.15),
        {"power-loss-all": (0.1, 0.9), "power-loss-one": (0.4, 0.6)},
    ),
    Item(
        "voice and area sound",
        "high",
        ("nothing of note", "trim heard", "strain in a voice"),
        (0.6, 0.05, 0.35),
        _for(RUNS, (0.25, 0.45, 0.3)) | {"incapacitation": (0.9, 0.05, 0.05)},
        caution="Strain in a voice is weak: it tells that force was used, not against what.",
    ),
    Item(
        "elevator, tab and trim linkage",
        "medium",
        ("continuous", "parted or stuck before impact"),
        (0.9, 0.1),
        _for(("separation", "elevator-jam"), (0.2, 0.8)),
    ),
    Item(
        "load sheet and weighing",
        "low",
        ("within limits", "outside"),
        (0.9, 0.1),
        _for(("load-shift-aft", "load-shift-forward"), (0.75, 0.25)),
    ),
)
