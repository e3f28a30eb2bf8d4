"""Heights of the ground from GeoTIFF. Needs the optional extra `terrain`.

Only what needs no map projection is read: grids of latitude and longitude in WGS-84, or in a datum
that lies within 2 m of it. Anything else is refused with the reason.
"""

from __future__ import annotations

import io
import zlib
from typing import Any

import numpy as np
import tifffile

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import FOOT
from neutralpoint.sources.terrain import Terrain, TerrainDatum

MOST_POSTS = 40_000_000  # of one grid; a limit against files that unpack to far more
DEFLATED = frozenset({8, 32946})  # two codes of the same packing: TIFF 6.0, supplement 2
PACKINGS = DEFLATED | {1, 5, 32773}  # none, deflate, LZW and PackBits
SPARE = 65536  # bytes beyond a whole strip that a writer may have padded
MOST_HEIGHT = 12000.0  # m from the datum; beyond it a post is void or damaged
# Codes of the GeoTIFF 1.1 standard (OGC 19-008r4) and the EPSG register, from memory; checked
# against tifffile's names in tests/unit/test_sources_geotiff.py.
GEOGRAPHIC = 2  # model type
WITHIN_TWO_METRES = (4326, 4979, 4258, 4269)  # WGS 84, WGS 84 3D, ETRS89, NAD83
POINT = 2  # raster type: the tie point is the centre of a post, not its corner
ABOVE_ELLIPSOID = (4979, 5030, 4326)  # vertical codes that name the ellipsoid
UNITS = {9001: 1.0, 9002: FOOT, 9003: 1200.0 / 3937.0}  # metre, foot, US survey foot
NODATA = 42113  # tag of the value that marks a void


def read_geotiff(data: bytes, where: str) -> tuple[Terrain, tuple[str, ...]]:
    """A grid of heights.

    Args:
        data: The file; the first image with one band is taken.
        where: Its name, for errors.

    Returns:
        The grid, and what was found or assumed, in sentences.

    Raises:
        NeutralPointError: `file-format` for a file that is damaged, packed in a way the extra
            does not read, projected or in another datum; `file-too-large`.

    Source: GeoTIFF standard 1.1 (OGC 19-008r4), 7.1 and annex B. Checked against:
    tests/unit/test_sources_geotiff.py.
    """
    try:
        with tifffile.TiffFile(io.BytesIO(data)) as file:
            page = file.pages.first
            posts = int(np.prod(page.shape, dtype=np.float64))
            if posts > MOST_POSTS:
                raise _too_large(posts, where)
            _check_packing(page, where)
            tags = {str(k): v for k, v in (page.geotiff_tags or {}).items()}
            void = _void(page)
            with np.errstate(all="ignore"):
                height = np.asarray(page.asarray(maxworkers=1), dtype=np.float64)
    except NeutralPointError:
        raise
    except Exception as broken:
        # A damaged file raises whatever the library happens to meet first.
        raise _refused(
            f"The image cannot be read: {type(broken).__name__}: {str(broken)[:100]}.", where
        ) from broken
    return _grid(np.squeeze(height), tags, void, where)


def _check_packing(page: Any, where: str) -> None:
    """Refuse strips that unpack to more than the image holds, before the library unpacks them.

    Source: TIFF 6.0, sec. 8, 9 and 14 (packing and strips); zlib, RFC 1950.
    """
    packing = int(page.compression)
    if packing not in PACKINGS:
        raise _refused(f"The image is packed by the method {packing}.", where)
    if packing not in DEFLATED:
        return
    most = page.dtype.itemsize * int(np.prod(page.chunks, dtype=np.float64)) + SPARE
    handle = page.parent.filehandle
    for offset, count in zip(page.dataoffsets, page.databytecounts, strict=False):
        handle.seek(offset)
        unpacker = zlib.decompressobj()
        unpacker.decompress(handle.read(count), most)
        if unpacker.unconsumed_tail:
            raise NeutralPointError(
                "file-too-large",
                f"A strip of the image unpacks to more than the {most / 1e6:.1f} MB it stands for.",
                where=where,
                hint="The file is damaged or hostile; convert it anew from its source.",
            )


def _void(page: Any) -> float | None:
    tag = page.tags.get(NODATA)
    try:
        return None if tag is None else float(str(tag.value).strip("\x00 "))
    except ValueError:
        return None


def _grid(height, tags: dict[str, Any], void: float | None, where: str):
    if height.ndim != 2 or min(height.shape) < 2:
        raise _refused(f"The image has the shape {height.shape}; one band is needed.", where)
    _geographic(tags, where)
    north, west, steps = _placed(tags, where)
    datum, unit, said = _vertical(tags)
    if void is not None:
        height[height == void] = np.nan
    with np.errstate(all="ignore"):
        height = height * unit
        height[~(np.abs(height) < MOST_HEIGHT)] = np.nan
    if not np.isfinite(height).any():
        raise _refused("No post holds a height.", where)
    return Terrain(north, west, steps, height.astype(np.float32), datum), said


def _geographic(tags: dict[str, Any], where: str) -> None:
    """Refuse what is no latitude and longitude near WGS-84."""
    model = _code(tags.get("GTModelTypeGeoKey"))
    if model != GEOGRAPHIC:
        named = "no coordinate system" if model is None else "projected coordinates"
        raise _refused(f"The file has {named}; latitude and longitude are needed.", where)
    datum = _code(tags.get("GeographicTypeGeoKey"))
    if datum not in WITHIN_TWO_METRES:
        raise _refused(f"The file is in the geographic system EPSG:{datum}.", where)


def _placed(tags: dict[str, Any], where: str) -> tuple[float, float, tuple[float, float]]:
    """Latitude and longitude of the first post, and the steps southwards and eastwards."""
    try:
        if "ModelTransformation" in tags:
            matrix = np.asarray(tags["ModelTransformation"], dtype=np.float64).reshape(4, 4)
            if matrix[0, 1] or matrix[1, 0]:
                raise _refused("The grid is turned against the meridian.", where)
            west, north = matrix[0, 3], matrix[1, 3]
            steps = -matrix[1, 1], matrix[0, 0]
        else:
            tie = np.asarray(tags["ModelTiepoint"], dtype=np.float64).ravel()[:6]
            scale = np.asarray(tags["ModelPixelScale"], dtype=np.float64).ravel()
            steps = float(scale[1]), float(scale[0])
            west, north = tie[3] - tie[0] * steps[1], tie[4] + tie[1] * steps[0]
    except (KeyError, ValueError, IndexError, TypeError) as missing:
        raise _refused("The file does not say where its posts lie.", where) from missing
    if _code(tags.get("GTRasterTypeGeoKey")) != POINT:  # tied at the corner of the first cell
        west, north = west + 0.5 * steps[1], north - 0.5 * steps[0]
    numbers = np.array([north, west, *steps])
    if not np.isfinite(numbers).all() or min(steps) <= 0.0 or abs(north) > 90.5:
        raise _refused("The posts lie nowhere on the earth.", where)
    return float(north), float(west), (float(steps[0]), float(steps[1]))


def _vertical(tags: dict[str, Any]) -> tuple[TerrainDatum, float, tuple[str, ...]]:
    code = _code(tags.get("VerticalCSTypeGeoKey", tags.get("VerticalGeoKey")))
    unit = UNITS.get(_code(tags.get("VerticalUnitsGeoKey")) or 9001, 1.0)
    if code in ABOVE_ELLIPSOID:
        return "ellipsoid", unit, ("Heights are above the ellipsoid, as the file says.",)
    if code is None:
        return "sea level", unit, ("The file does not name a vertical datum: taken as sea level.",)
    return "sea level", unit, (f"Heights are above the sea, in the vertical system {code}.",)


def _code(value: Any) -> int | None:
    try:
        return None if value is None else int(value)
    except (TypeError, ValueError):
        return None


def _too_large(posts: int, where: str) -> NeutralPointError:
    return NeutralPointError(
        "file-too-large",
        f"The image has {posts / 1e6:.0f} million posts; at most {MOST_POSTS / 1e6:.0f} are read.",
        where=where,
        hint="Cut it to the surroundings of the flight.",
    )


def _refused(message: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "file-format",
        message,
        where=where,
        hint="Convert it to a plain or deflated GeoTIFF in EPSG:4326 with one band of heights.",
    )
