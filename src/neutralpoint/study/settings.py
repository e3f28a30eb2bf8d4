"""What a command may choose of a stage, beside what the case says."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Settings(BaseModel):
    """Nothing to choose; what there is, is part of the record of the stage."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class WeighingSettings(Settings):
    """Of the odds.

    Attributes:
        prior: Weights by cause, beside those of the case.
        dask: Address of a cluster that flies; empty for this machine.
    """

    prior: dict[str, float] = {}
    dask: str = ""


class ResponseSettings(Settings):
    """Of time and strength; what is left out is taken from the case.

    Attributes:
        causes: Names.
        height: Above the ground at the start, m.
        begin: Start, s after the epoch.
        full: Whether to fly all pilots; else a quick look.
    """

    causes: tuple[str, ...] = ()
    height: float | None = None
    begin: float | None = None
    full: bool = False


class HistorySettings(Settings):
    """Of earlier flights.

    Attributes:
        tracks: Their folder; empty for that of the case, or of the last run.
        workers: Processes of this machine that measure them.
        dask: Address of a cluster that does; empty for none.
    """

    tracks: str = ""
    workers: int = 1
    dask: str = ""
