"""One error family: every failure a user can meet says what, where, what is allowed and what to do.

Everything the package raises on purpose is a `NeutralPointError` with four fields. The command
line, the JSON output and the pages print the same four.
"""

from __future__ import annotations

CODES: dict[str, str] = {
    "case-invalid": "The case file holds a key or a value that the case schema does not allow.",
    "case-incomplete": "The case file does not hold all yet that a study needs.",
    "case-missing": "There is no case at the place named.",
    "case-syntax": "The case file is not valid TOML.",
    "case-busy": "Another process is studying the case.",
    "job-interrupted": "The server ended while a job was under way; finished stages stand.",
    "served-gone": "The folder that is served was moved or removed while the server runs.",
    "case-exists": "The folder already holds a case; nothing was overwritten.",
    "link-refused": "A file or folder of a case is a link, and links are not followed.",
    "disk-full": "There is no room to write a file; what was there before stands.",
    "no-access": "A file or folder may not be read or written by this user.",
    "path-invalid": "A path is too long, leads back to itself, or names nothing of the right kind.",
    "system-refused": "The system refused to read or write a file.",
    "output-lost": "Standard output is full or closed, and not everything could be printed.",
    "memory-short": "The work needs more memory than there is.",
    "file-missing": "A file that the case names is not there.",
    "file-empty": "A file holds no usable rows.",
    "file-format": "A file is not in the format it was read as.",
    "file-too-large": "A file is larger than the limit for its format.",
    "extra-missing": "Something asked for needs an optional extra that is not installed.",
    "reading-slow": "The files of a case take longer to read than they may.",
    "column-missing": "The column map names a column that the file does not have.",
    "column-unit": "The unit of a column is neither named nor settled by the physics of the track.",
    "time-unclear": "The form or the date of a time column is neither named nor visible.",
    "time-order": "The times of a track run backwards.",
    "quantity-invalid": "A quantity is not a number with a unit and an optional +- value.",
    "quantity-unit": "A quantity has a unit of the wrong dimension.",
    "quantity-range": "A quantity lies outside what is physically possible.",
    "weather-invalid": "A weather report could not be read.",
    "airplane-invalid": "The airplane file holds a key or a value that its schema does not allow.",
    "motion-not-resolved": "The noise levels of a track lie too far apart to compute its motion.",
    "track-too-short": "The track is too short to estimate a motion from.",
    "track-pole": "The track comes so near to a pole that north turns as the airplane flies.",
    "track-too-long": "The track is longer than a motion is computed from.",
    "track-mixed": "So many readings jump that several airplanes or clocks may be mixed.",
    "not-flying": "The track has no airborne segment, so the required moment cannot be computed.",
    "onset-none": "No departure from ordinary flight was found in the track.",
    "onset-unclear": "The onset of the upset, or whether there was one, is uncertain.",
    "no-equilibrium": "No steady flight exists for the condition asked for.",
    "results-missing": "A result that this step starts from has not been made yet.",
    "results-version": "A results file was written by a version that cannot be read.",
    "networks-damaged": "The file of the shipped networks is missing or not that of this version.",
    "cluster-unreachable": "The cluster that flights were sent to does not answer, or differs.",
    "claims-invalid": "The claims file holds a key or a value that its schema does not allow.",
    "browser-missing": "Making a PDF needs a Chromium browser, and none was found or it failed.",
    "figures-invalid": "The notes on figures hold a key or a value that is not allowed.",
    "figure-unknown": "The case has no figure of that name, or not in that form.",
    "storyboard-invalid": "The storyboard holds a key or a value that is not allowed.",
    "encoder-missing": "Making a film needs a video encoder, and none was found or it failed.",
    "not-found": "There is nothing at the address that was asked for.",
    "request-refused": "A request did not come from a page of this workbench.",
    "request-invalid": "A request to the workbench is not of the form it must have.",
    "revision-old": "The case was changed elsewhere since it was read; nothing was written.",
    "program-fault": "The program failed where it should not; the case is not to blame.",
    "plugin-missing": "A plug-in that is asked for is not installed.",
    "plugin-fault": "A plug-in of another package failed or broke its protocol.",
    "argument-invalid": "An argument lies outside what the function accepts.",
}


class NeutralPointError(Exception):
    """A failure with a cause the user can act on.

    Args:
        code: Key of `CODES`.
        message: What was asked and what was found, with number and unit.
        where: File, line, column, key or argument.
        hint: What is allowed and what to do next.
    """

    def __init__(self, code: str, message: str, *, where: str, hint: str) -> None:
        if code not in CODES:
            raise KeyError(code)
        super().__init__(message)
        self.code = code
        self.message = message
        self.where = where
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} [{self.code}] at {self.where}. {self.hint}"

    def as_dict(self) -> dict[str, str]:
        """The four fields, for JSON output."""
        return {
            "code": self.code,
            "message": self.message,
            "where": self.where,
            "hint": self.hint,
        }
