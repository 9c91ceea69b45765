"""From what a lane file says to the lane as a ball feels it."""

from collections.abc import Sequence
from itertools import pairwise
from typing import get_args

from cardgen.lane.condition import Grip, LaneDoubt, OiledLane
from cardgen.lane.film import FilmMap, Load, laid
from cardgen.lane.geometry import WIDTH_M
from cardgen.profile.schema import Cover, LaneSpec, LoadSpec
from cardgen.units import FOOT_M, INCH_M, MICROMETRE_M, MILLILITRE_M3


def oiled_lane(spec: LaneSpec) -> OiledLane:
    """Return the lane that a lane file or a profile describes; boards count from the right."""
    friction, doubt = spec.friction, spec.doubt
    return OiledLane(
        fresh=_film(spec),
        grips={
            cover: Grip(friction.in_oil(cover), getattr(friction, cover))
            for cover in get_args(Cover)
        },
        screen_m=spec.film_um * MICROMETRE_M,
        games=spec.games,
        slope=spec.slope_in * INCH_M / WIDTH_M,
        doubt=LaneDoubt(doubt.oil_percent / 100, doubt.friction_percent / 100, doubt.games),
    )


def _film(spec: LaneSpec) -> FilmMap:
    oil_m, sheet = spec.oil_ft * FOOT_M, spec.load_sheet
    if sheet is None:
        return FilmMap.shaped(
            oil_m,
            spec.oil_ml * MILLILITRE_M3,
            spec.ratio,
            spec.outer_boards,
            spec.taper_ft * FOOT_M,
        )
    return laid(
        _loads(sheet.forward, 0.0, sheet.microlitres),
        _loads(
            sheet.reverse,
            spec.oil_ft if sheet.drop_ft is None else sheet.drop_ft,
            sheet.microlitres,
        ),
        oil_m,
    )


def _loads(specs: Sequence[LoadSpec], start_ft: float, microlitres: float) -> list[Load]:
    """Return loads, each from where the one before it ends."""
    ends = [start_ft, *(spec.to_ft for spec in specs)]
    return [
        Load(
            *spec.boards,
            spec.passes * microlitres * MILLILITRE_M3 / 1000,
            (min(a, b) * FOOT_M, max(a, b) * FOOT_M),
        )
        for spec, (a, b) in zip(specs, pairwise(ends), strict=True)
    ]
