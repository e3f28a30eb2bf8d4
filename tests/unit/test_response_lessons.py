"""What a lesson adds to an airplane."""

from __future__ import annotations

from neutralpoint.response.lessons import LATCH, WHEEL


def test_a_stop_device_that_is_added_holds_without_a_hand():
    """The point of both: the drive stays stopped when the pilot lets go to fly."""
    assert LATCH.kind == "latching_disconnect" and WHEEL.kind == "manual_wheel"
    assert not LATCH.release_restarts and not WHEEL.release_restarts
    assert LATCH.hands == 0 and LATCH.reach_time < WHEEL.reach_time
