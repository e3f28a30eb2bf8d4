"""One served case: its folder, what was read of it, and the one lock for changing it."""

from __future__ import annotations

import contextlib
import importlib
import threading
import time
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import neutralpoint
from neutralpoint.app.bodies import remove_leftovers
from neutralpoint.app.contents import (
    FINDINGS,
    Digests,
    draft_of,
    listed_files,
    revision_of,
    stages,
    stages_by_files,
    stages_wanting,
    study_is_loaded,
    words,
)
from neutralpoint.app.events import Hub, fingerprint
from neutralpoint.app.figures import Shelf
from neutralpoint.app.flights import FlightService, Superseded
from neutralpoint.app.folders import RESULTS
from neutralpoint.app.gaps import gaps, still_needed
from neutralpoint.app.history import History
from neutralpoint.app.jobs import Jobs
from neutralpoint.app.telling import OneAtATime
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import CAUTIONS
from neutralpoint.report.film.encoder import find_encoder

if TYPE_CHECKING:
    from neutralpoint.case import Case

STUDY = "neutralpoint.study"
FIRST_PAGE = 2.0  # s that a first page needs the processor for, before the study is loaded
NO_ENCODER = "No video encoder was found, so no film can be made here. `pip install av` brings one."


class Notebook:
    """One case, for as long as the server runs.

    Attributes:
        name: Of the folder.
        folder: The case folder.
        results: Its results folder, which need not be there.
        lock: Held while the case is changed.
        shelf: Its results.
        history: Its changes.
        flights: Its flights.
        jobs: Of the whole server.
        hub: Of the whole server.
        seen: Whether a page has asked for its state.
        answering: Held while the answer sheet is made, so that many tabs cost one.
    """

    def __init__(self, name: str, folder: Path, jobs: Jobs, hub: Hub) -> None:
        self.name, self.folder, self.results = name, folder, folder / RESULTS
        self.jobs, self.hub = jobs, hub
        self.seen = False
        self.lock = threading.RLock()
        remove_leftovers(folder)
        jobs.remember(name, folder)
        self.shelf = Shelf(self.results)
        self.history = History(folder)
        self.flights = FlightService(folder, self._rig_stamp)
        self._warmed: Any = None
        self._digests = Digests()
        self._case: tuple[tuple, Case] | None = None
        self._asking = threading.Lock()
        self._retelling = threading.Lock()
        self.answering = threading.Lock()
        self._loading: threading.Thread | None = None
        self._asked: tuple[tuple, tuple] | None = None
        self._telling = OneAtATime(self._tell)
        self._told: dict[str, Any] | None = None

    def state(self) -> dict[str, Any]:
        """What the page shows of the case as a whole."""
        self.seen = True
        draft, problem = draft_of(self.folder)
        lacking = [] if draft is None else gaps(self.folder, draft)
        found, fault = self._stages(lacking)
        return {
            **words(self.folder),
            "name": self.name,
            "version": neutralpoint.__version__,
            "revision": revision_of(self.folder),
            "problem": problem or fault,
            "cautions": list(CAUTIONS),
            "missing": lacking,
            "files": listed_files(self.folder, self._digests),
            "stages": found,
            "report": (self.results / "report.html").is_file(),
            "no_film": "" if find_encoder() else NO_ENCODER,
            "no_parquet": find_spec("polars") is None,
            "jobs": [job.as_dict() for job in self.jobs.of(self.name)],
            "can_undo": self.history.can_undo(),
            "can_redo": self.history.can_redo(),
            "words": self._words_mark(),
        }

    def _words_mark(self) -> str:
        """Changes whenever the findings are written, such as with other words of the case."""
        path = self.results / FINDINGS
        return str(path.stat().st_mtime_ns) if path.is_file() else ""

    def retell(self) -> None:
        """Take what the case says in words into the saved findings, in a thread of its own.

        Charts, claims and answer then show the words as they stand, and no stage is made again.
        """

        def work() -> None:
            from neutralpoint.study import retell  # loads JAX: not before the page is up

            with self._retelling, contextlib.suppress(NeutralPointError, OSError):
                retell(self.folder)
                self.changed()

        if (self.results / FINDINGS).is_file():
            threading.Thread(target=work, daemon=True).start()

    def _stages(
        self, lacking: list[dict[str, str]]
    ) -> tuple[dict[str, Any], dict[str, str] | None]:
        """State of the stages, asked again only where a file has changed.

        Until the study is loaded, in a thread, files alone are looked at; then pages are told.
        """
        if cannot := still_needed(lacking):
            return stages_wanting(self.folder, cannot), None
        if not study_is_loaded():
            self._load_study()
            return stages_by_files(self.folder), None
        with self._asking:
            now = fingerprint(self.folder)
            if self._asked is None or self._asked[0] != now:
                self._asked = (now, stages(self.folder))
            return self._asked[1]

    def _load_study(self) -> None:
        def load() -> None:
            time.sleep(FIRST_PAGE)
            importlib.import_module(STUDY)
            self.changed()

        with self._asking:
            if self._loading is None:
                self._loading = threading.Thread(target=load, daemon=True)
                self._loading.start()

    def case(self) -> Case:
        """The case as it is now, read again only where a file has changed.

        Raises:
            NeutralPointError: For the first thing wrong with it.
        """
        from neutralpoint.case import load_case  # loads JAX: not before the page is up

        with self.lock:
            now = fingerprint(self.folder)
            if self._case is None or self._case[0] != now:
                self._case = (now, load_case(self.folder))
            return self._case[1]

    def changed(self) -> None:
        """Tell every page of the case what it is like now.

        The state is looked at once and sent along, so that no page has to ask for it.
        """
        self._telling.ask()

    def _tell(self) -> None:
        if not self.hub.heard():
            return
        try:
            now = self.state()
        except (NeutralPointError, OSError):  # such as a case that is gone: pages ask, and are told
            now = {}
        if not now or now != self._told:
            self.hub.tell(self.name, "state", now)
        self._told = now

    def warm(self) -> None:
        """Start the flights and compile the first, in a thread of its own, once."""
        with self.lock:
            if self._warmed == self._rig_stamp():
                return
            self._warmed = self._rig_stamp()

        def compile_first() -> None:
            with contextlib.suppress(Superseded, NeutralPointError):
                self.flights.fly({"cause": "elevator-jam", "values": {}, "duration": 1.0})

        threading.Thread(target=compile_first, daemon=True).start()

    def _rig_stamp(self) -> Any:
        """What flights start from: the files of the case and the saved motion."""
        motion = self.results / "motion.nc"
        about = motion.stat() if motion.is_file() else None
        files = tuple(
            mark for mark in fingerprint(self.folder) if (self.folder / mark[0]).is_file()
        )
        return files, about and (about.st_size, about.st_mtime_ns)

    def close(self) -> None:
        """End the flights, and wait for what is being loaded: Python may hang at its end else."""
        self.flights.close()
        if self._loading is not None:
            self._loading.join()
