"""What the figures of the answer sheet show, for a reader who does not see them."""

from __future__ import annotations

from neutralpoint.report.sheet.sheet import Recovery, Sheet, Sway


def flights_said(sheet: Sheet) -> str:
    """The largest figure.

    Args:
        sheet: Names the flights.

    Returns:
        A sentence.
    """
    flights = " and ".join(title for _, title in sheet.flights)
    over = f", with the nearest simulated flight of {flights} and its residual" if flights else ""
    return f"Altitude, calibrated airspeed and pitch with 50% and 90% bands{over}"


def recovery_said(recovery: Recovery) -> str:
    """Share recovered against delay.

    Args:
        recovery: What is drawn.

    Returns:
        A sentence.
    """
    ends = "; ".join(
        f"{name}: {100.0 * shares[0]:.0f}% at once, {100.0 * shares[-1]:.0f}% after "
        f"{recovery.delays[-1]:.0f} s"
        for name, shares in recovery.shares.items()
    )
    return f"Share of simulated pilots that recovers against delay, if {recovery.title}. {ends}"


def sway_said(sway: Sway) -> str:
    """The tornado chart.

    Args:
        sway: What is drawn.

    Returns:
        A sentence.
    """
    rows = "; ".join(f"{line.title}: {line.low:.2f} to {line.high:.2f}" for line in sway.lines)
    return f"Odds of {sway.title}, {sway.stands:.2f} as the case stands. {rows}"
