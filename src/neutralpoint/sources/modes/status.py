"""What an airplane states of the accuracy of its squitters: operational and target status."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass, field

from neutralpoint.sources.accuracy import contained_sigma, position_sigma
from neutralpoint.sources.modes.frame import Frame

STATUS, TARGET = 31, 29  # type codes
NEAR = 60.0  # s for which a status holds; it is sent every 2.5 s or oftener (from memory)


@dataclass(frozen=True)
class StatedQuality:
    """Categories of one status message.

    Attributes:
        time: s after the epoch.
        position: NACp.
        integrity: SIL.
        height: GVA; None where the version has none.
    """

    time: float
    position: int
    integrity: int
    height: int | None


def stated(frame: Frame) -> StatedQuality | None:
    """The categories of a status message.

    Args:
        frame: A squitter of type code 31 or 29.

    Returns:
        None where the message is of a version or subtype without them.

    Source: RTCA DO-260B 2.2.3.2.7.1 and 2.2.3.2.7.2, as in the open Mode S book (DOI
    10.34641/mg.11). Checked against: tests/unit/test_sources_accuracy.py, the kept decoder.
    """
    code = frame.bits(33, 37)
    if code == STATUS and frame.bits(38, 40) == 0 and frame.bits(73, 75) in (1, 2):
        height = frame.bits(81, 82) if frame.bits(73, 75) == 2 else None
        return StatedQuality(frame.time, frame.bits(77, 80), frame.bits(83, 84), height)
    if code == TARGET and frame.bits(38, 39) == 1:
        return StatedQuality(frame.time, frame.bits(72, 75), frame.bits(77, 78), None)
    return None


@dataclass
class Accuracy:
    """What was stated in a file, in order of time.

    Attributes:
        every: Status messages.
        seen: How many readings rest on which category.
    """

    every: list[StatedQuality] = field(default_factory=list)
    seen: Counter[str] = field(default_factory=Counter)

    def at(self, time: float) -> StatedQuality | None:
        """The status that holds at a time.

        Args:
            time: s after the epoch.

        Returns:
            The last one before, else the next; None where none is near.
        """
        k = bisect_right(self.every, time, key=lambda s: s.time)
        near = [s for s in self.every[max(k - 1, 0) : k + 1] if abs(s.time - time) <= NEAR]
        return near[0] if near else None

    def of_position(self, time: float, type_code: int) -> float:
        """Standard deviation of a position of each axis.

        Args:
            time: s after the epoch.
            type_code: Of its message.

        Returns:
            m: of its NACp, else of its containment radius; NaN where neither is stated.
        """
        now = self.at(time)
        sigma = position_sigma(None if now is None else now.position)
        if sigma == sigma and now is not None:
            self.seen[f"NACp {now.position}"] += 1
            return sigma
        sigma = contained_sigma(type_code, None if now is None else now.integrity)
        if sigma == sigma:
            self.seen[f"the containment radius of type code {type_code}"] += 1
        return sigma

    def said(self) -> tuple[str, ...]:
        """What the standard deviations rest on.

        Returns:
            One sentence, or none.
        """
        if not self.seen:
            return ()
        parts = ", ".join(f"{n} on {name}" for name, n in self.seen.most_common())
        low = {s.integrity for s in self.every}
        level = f"; SIL {', '.join(map(str, sorted(low)))}" if low else ""
        return (f"Accuracies that the airplane states: {parts}{level}.",)
