"""Loading and envelopes of an airplane file, and the uncertainty of mass and balance."""

from __future__ import annotations

import math

from neutralpoint.airplane.envelope import Envelope
from neutralpoint.airplane.estimate import Estimate
from neutralpoint.airplane.inertia import estimate_inertia
from neutralpoint.airplane.loading import FuelTank, Loading, LoadItem
from neutralpoint.airplane.model import Airplane, MassProperties
from neutralpoint.airplane_file.document import AirplaneDocument
from neutralpoint.airplane_file.sections import TankSection


def empty_inertia(document: AirplaneDocument) -> dict[str, Estimate]:
    """Roll, pitch and yaw inertia of the empty airplane: given, or estimated from its class."""
    empty, body = document.empty, document.fuselage
    length = body.length.value if body else document.wing.span.value
    inertia = estimate_inertia(
        document.airplane_class,
        mass=empty.mass.value,
        span=document.wing.span.value,
        length=length,
    )
    for name in inertia:
        value = getattr(empty, name)
        if value is not None:
            inertia[name] = Estimate(value.value, value.sigma, "given")
    return inertia


def build_loading(document: AirplaneDocument) -> Loading:
    """The loading that a document describes."""
    empty = document.empty
    inertia = {name: number.value for name, number in empty_inertia(document).items()}
    return Loading(
        MassProperties(
            mass=empty.mass.value,
            cg_station=empty.station.value,
            cg_depth=empty.depth.value,
            cross_inertia=empty.cross_inertia.value,
            **inertia,
        ),
        tuple(
            LoadItem(
                item.name,
                item.mass.value,
                (item.station.value, item.side.value, item.depth.value),
                item.loose,
            )
            for item in document.items
        ),
        tuple(_tank(tank) for tank in document.tanks),
    )


def _tank(tank: TankSection) -> FuelTank:
    table = tuple((contents.value, station.value) for contents, station in tank.table)
    fixed = ((0.0, tank.station.value),) if tank.station else ()
    return FuelTank(
        name=tank.name,
        capacity=tank.capacity.value,
        contents=tank.contents.value,
        station_at_contents=table or fixed,
        side=tank.side.value,
        depth=tank.depth.value,
    )


def build_envelopes(document: AirplaneDocument) -> tuple[Envelope, ...]:
    """The centre-of-gravity envelopes that a document describes."""
    return tuple(
        Envelope(
            envelope.name,
            tuple((station.value, mass.value) for station, mass in envelope.corners),
        )
        for envelope in document.envelopes
    )


def loading_uncertainty(
    document: AirplaneDocument, airplane: Airplane, loading: Loading
) -> dict[str, float]:
    """Standard deviations of mass (relative), CG station (m) and pitch inertia (relative).

    Source: GUM (JCGM 100:2008), eq. 10, parts taken as independent: with x = sum(m x) / M,
        dx = (x_i - x) dm_i / M + m_i dx_i / M.
    """
    mass, center = float(airplane.mass.mass), float(airplane.mass.cg_station)
    stations = [tank.position[0] for tank in loading.tanks]
    parts = [(document.empty.mass, document.empty.station.value, document.empty.station.sigma)]
    parts += [(item.mass, item.station.value, item.station.sigma) for item in document.items]
    parts += [
        (tank.contents, station, tank.station.sigma if tank.station else 0.0)
        for tank, station in zip(document.tanks, stations, strict=True)
    ]
    spread = math.hypot(*(part.sigma for part, _, _ in parts))
    shifts = [
        math.hypot((station - center) * part.sigma, part.value * sigma) / mass
        for part, station, sigma in parts
    ]
    return {
        "mass": spread / mass,
        "cg_station": math.hypot(*shifts),
        "pitch_inertia": empty_inertia(document)["pitch_inertia"].relative,
    }
