"""Earlier flights of the airplane and of its type: how unusual the flight of the case is."""

from __future__ import annotations

from pydantic import AwareDatetime, Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.vocabulary import CauseName


class HistoryPlace(Part):
    """Where the flight lies among others, in one measure."""

    count: int = Field(ge=1, description="Flights in which it could be measured.")
    percentile: Fraction = Field(description="Share of them below the flight.")
    low95: Fraction = Field(description="Sampling error of the percentile, 2.5%.")
    high95: Fraction
    chance: Fraction = Field(description="That an ordinary flight of them lies as far out.")
    middle: float = Field(description="Median of the flights, SI.")
    low90: float = Field(description="5% of the flights.")
    high90: float = Field(description="95% of the flights.")


class HistoryChange(Part):
    """A change of one measure along the earlier flights of the airplane."""

    probability: Fraction
    at: AwareDatetime = Field(description="First flight after it, the most probable.")
    low90: AwareDatetime
    high90: AwareDatetime
    by: float = Field(description="Mean after less mean before, SI; of logarithms if positive.")


class HistoryDifference(Part):
    """Flights after a stated date against those before it, in one measure."""

    before: int = Field(ge=1, description="Flights.")
    after: int = Field(ge=1, description="Flights.")
    by: float = Field(description="Mean after less mean before, SI; of logarithms if positive.")
    half95: float = Field(ge=0.0, description="95% half-width of it.")
    chance: Fraction = Field(description="Of one as large without a change.")
    named: bool = Field(description="Kept by the control of false discoveries over all measures.")


class HistoryMeasure(Part):
    """One measure of the flight of the case, beside the other flights."""

    name: str
    unit: str = Field(description="SI; 1 for a ratio.")
    value: float
    sigma: float | None = Field(default=None, description="Standard deviation of the value.")
    own: HistoryPlace | None = Field(default=None, description="Earlier flights of the airplane.")
    kind: HistoryPlace | None = Field(default=None, description="Other airplanes of its type.")
    unusual: bool = Field(description="Kept by the control of false discoveries over all measures.")


class HistorySeries(Part):
    """One measure along the earlier flights of the airplane."""

    name: str
    unit: str
    change: HistoryChange | None = None
    difference: HistoryDifference | None = None


class HistoryEvent(Part):
    """A departure from a level that was held, with a return to it, on an earlier flight."""

    start: AwareDatetime = Field(description="Of the flight.")
    into: float = Field(description="s after the start.")
    vertical_speed: float = Field(description="Greatest, m/s.")
    onset_probability: Fraction | None = Field(
        default=None,
        description="That the motion left ordinary flight about it, by the onset of the case.",
    )
    onset: float | None = Field(default=None, description="When, s after the start, if it did.")
    file: str


class HistoryEvidence(Part):
    """Events on earlier flights as an item of evidence, with the table that is used."""

    events: int = Field(ge=1)
    flown: float = Field(description="Time of the earlier flights, s.")
    ordinary: Fraction = Field(description="Chance of as many without a fault of the trim.")
    ordinary_from: str = Field(description="`type` for other airplanes of the type, or `table`.")
    fault: dict[CauseName, Fraction] = Field(description="Chance of events beside, by cause.")
    doubt: Fraction = Field(description="That they say nothing of the flight of the case.")


class HistoryTrouble(Part):
    """Something wrong with a file, which the rest went on without."""

    file: str
    row: int = Field(ge=0, description="First one, counted from 1; 0 where it is the file.")
    reason: str
    count: int = Field(ge=0, description="Rows; 0 where it is the file.")
    detail: str = ""


class HistoryStanding(Part):
    """A flight or an airplane that stands out of its own kind."""

    address: str
    start: AwareDatetime | None = Field(default=None, description="None for an airplane.")
    file: str = ""
    measures: list[str] = Field(min_length=1, description="Farthest first.")
    out: list[float] = Field(description="Standard deviations, of each.")
    chances: list[Fraction] = Field(description="That an ordinary one lies as far out, of each.")


class HistoryTurn(Part):
    """An airplane whose flights changed from some flight on."""

    address: str
    measures: list[str] = Field(min_length=1, description="Surest first.")
    changes: list[HistoryChange] = Field(description="Of each.")


class HistoryFindings(Part):
    """Earlier flights, counted and compared; standing out is no finding of a fault."""

    file: str = Field(description="Arrays: measures of the earlier flights, and their curves.")
    tracks: str = Field(description="Folder of the tracks.")
    address: str = Field(description="Of the airplane, as the tracks call it.")
    type_name: str = ""
    own: int = Field(ge=0, description="Earlier flights of the airplane.")
    later: int = Field(ge=0, description="Flights of it that are not earlier; left out.")
    others: int = Field(ge=0, description="Flights of other airplanes of the type.")
    airplanes: int = Field(ge=0, description="Other airplanes of the type.")
    rows: int = Field(ge=0, description="Read.")
    rate: Fraction = Field(description="Of what is named, the share that may be false.")
    tested: int = Field(ge=0, description="Comparisons of the flight of the case.")
    measures: list[HistoryMeasure]
    series: list[HistorySeries] = Field(default=[])
    changed: str = Field(default="", description="Date that the case states, ISO 8601.")
    events: list[HistoryEvent] = Field(default=[])
    evidence: HistoryEvidence | None = None
    troubles: list[HistoryTrouble] = Field(default=[])
    troubled_rows: int = Field(default=0, ge=0)
    troubled_files: int = Field(default=0, ge=0, description="Left out whole.")
    flights_out: list[HistoryStanding] = Field(default=[])
    airplanes_out: list[HistoryStanding] = Field(default=[])
    airplanes_changed: list[HistoryTurn] = Field(default=[])
    flights_tested: int = Field(default=0, ge=0)
    airplanes_tested: int = Field(default=0, ge=0)
