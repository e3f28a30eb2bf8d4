"""What `neutralpoint airplane` prints and draws: headings, labels and sentences."""

from __future__ import annotations

from neutralpoint.quantities import DEGREE, FOOT, KNOT

HOW_TO_READ = (
    "Each number: as the file gives it; then the median of the draws of its uncertainty, with its "
    "90% band in parentheses. Not for flight."
)
LOADING = "Loading"
LOADING_HEADS = ("item", "kg", "lb", "station, m", "")
EMPTY, ALL = "empty", "total"
SPEED_HEAD, PERCENT_HEAD = "kt CAS", "percent"
PULL_HEADS = ("trimmed", "mistrimmed", "trim at nose-down stop")
CROSSOVER = "Crossover speed: trim at its nose-down stop, level flight"
CROSSOVER_HOW = (
    'Speed above which holding level flight takes more than this pull ("none": at no speed shown).'
)
MODE_HEADS = ("mode", "rad/s or 1/s", "damping ratio")
STOP_HEADS = ("stop device", "kind", "reach, s", "hands", "when released")
RUNS_ON, STAYS = "trim may move again", "stays stopped"
MOTOR = (
    "\nTrim motor under load: share of its no-load rate at which it could run the trim back from\n"
    "the nose-down stop while the column holds level flight; at 0 it stalls until the pull is "
    "eased."
)
COEFFICIENTS = "Coefficients, \u00b1 two standard deviations"
COEFFICIENT_HEADS = ("name", "value", "\u00b1", "", "source")
NO_LIMITS = "no limits at this mass"
# Of the picture.
ENVELOPE, MODES = "Loading", "Modes: frequency and damping"
SPEED_AXIS, STATION_AXIS = "calibrated airspeed, kt", "center of gravity, m aft of datum"
MASS_AXIS, PULL_AXIS, PER_G_AXIS = "mass, kg", "pull, lb", "lb per g"
STOPS_AXIS = "deg (dash-dotted: stops)"
DAMPING_AXIS = "damping ratio (left of the line: unstable)"
AS_LOADED, AS_GIVEN, LEVEL, TRIMMED, PULL = (
    *("as loaded", "as given", "level flight"),
    *("trimmed", "pull"),
)


def picture_title(name: str) -> str:
    """Over the sheet of figures."""
    return f"{name}: bands hold 90% of the draws. Not for flight."


def level_flight(height: float) -> str:
    """Heading of the speeds.

    Args:
        height: m.

    Returns:
        The heading.
    """
    return f"Level flight at {height / FOOT:,.0f} ft"


def trim_sentence(stall: float, trimmed: float, mistrim: float) -> str:
    """What the forces of the table are.

    Args:
        stall: Stall speed, m/s.
        trimmed: Speed of no force, m/s.
        mistrim: Trim error, rad.

    Returns:
        Sentences.
    """
    return (
        f"Stall {stall / KNOT:.0f} kt flaps up. Column force in lb, pull positive. Trimmed at "
        f"{trimmed / KNOT:.0f} kt; mistrim {mistrim / DEGREE:.1f} deg nose-down."
    )


def trimmed_at(what: str, speed: float) -> str:
    """A heading with the speed it holds for."""
    return f"{what} {speed / KNOT:.0f} kt"


def trim_drive_sentence(travel: tuple[float, float], rate: float, by_hand: float) -> str:
    """Travel and rates of the pitch trim, rad and rad/s."""
    low, high = (end / DEGREE for end in travel)
    return (
        f"travel {low:.1f} to {high:.1f} deg; motor {rate / DEGREE:.2f} deg/s, by hand "
        f"{by_hand / DEGREE:.2f} deg/s"
    )


def margins_words(forward: float, aft: float, mass: float) -> str:
    """How far inside its envelope a loading lies, m and kg."""
    return f"inside by {1000 * forward:.0f} mm forward, {1000 * aft:.0f} mm aft, {mass:.0f} kg"
