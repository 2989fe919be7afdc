"""Distances on the WGS 84 ellipsoid: published ones, and Vincenty's inverse formula held to them."""

from math import atan, atan2, cos, inf, isclose, radians, sin, sqrt, tan

from dispatch.travel import Point

A_KM, F = 6378.137, 1 / 298.257223563
B_KM = A_KM * (1 - F)

PUBLISHED = (
    # The test set of GeographicLib (Karney, Algorithms for geodesics, Journal of Geodesy 87, 2013): km,
    # read in geodtest.c. Karney's longitudes beyond half way round are brought back here.
    (Point(35.60777, -139.44815), Point(-11.17491, -69.95921), 8935.2445604818305),
    (Point(55.52454, 106.05087), Point(77.03196, 197.18234 - 360), 4105.0861713924406),
    (Point(-21.97856, 142.59065), Point(41.84138, 98.56635), 8394.328894657671),
    (Point(-66.99028, 112.2363), Point(-12.70631, 285.90344 - 360), 11150.3442312080241),
    (Point(-50.56724, -16.30485), Point(-33.56571, -94.97412), 6455.6705118668696),
    (Point(-58.93002, -8.90775), Point(-8.91104, 133.13503), 11756.0660219864627),
    (Point(-68.82867, -74.28391), Point(-50.63005, -8.36685), 3956.936926063544),
    (Point(-10.62672, -32.0898), Point(5.883, -134.31681), 11470.8693864563009),
    (Point(-21.76221, 166.90563), Point(48.72884, 213.97627 - 360), 9098.6273986554915),
    (Point(-19.79938, -174.47484), Point(-11.99349, -154.35109), 2319.0048601169389),
    (Point(-11.95887, -116.94513), Point(4.57352, 7.16501), 13834.7225801401374),
    (Point(-25.72959, -144.90758), Point(-57.70581, 360 - 269.17879), 9413.4467452453107),
    (Point(-41.22777, 122.32875), Point(-7.57291, 130.37946), 3812.686035106021),
    (Point(11.01307, 138.25278), Point(6.62726, 247.05981 - 360), 11911.190819018408),
    (Point(-29.47124, 95.14681), Point(-27.46601, -69.15955), 13487.0158381145492),
    # GeographicLib's worked example, New York to London, and one of a Rust port, Berkeley to Port Moresby
    (Point(40.6, -73.8), Point(51.6, -0.5), 5551.7594003186841),
    (Point(37.87622, -122.23558), Point(-9.4047, 147.1597), 10700.471955233702),
    # Flinders Peak to Buninyong, 54.972271 km on this ellipsoid (Geoscience Australia's worked example)
    (
        Point(-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600),
        Point(-(37 + 39 / 60 + 10.15610 / 3600), 143 + 55 / 60 + 35.38390 / 3600),
        54.972271,
    ),
)


def vincenty_km(a: Point, b: Point) -> float:
    """Return the geodesic in km; does not settle for points nearly opposite each other.

    Vincenty, Direct and inverse solutions of geodesics on the ellipsoid, Survey Review 23, 1975
    (from memory; the published distances above hold it to the millimetre).
    """
    if a == b:
        return 0.0
    u1, u2 = (atan((1 - F) * tan(radians(each.lat))) for each in (a, b))
    apart = radians(b.lon - a.lon)
    lon, before = apart, inf
    for _ in range(200):
        sin_arc = sqrt((cos(u2) * sin(lon)) ** 2 + (cos(u1) * sin(u2) - sin(u1) * cos(u2) * cos(lon)) ** 2)
        if sin_arc == 0:
            return 0.0
        cos_arc = sin(u1) * sin(u2) + cos(u1) * cos(u2) * cos(lon)
        arc = atan2(sin_arc, cos_arc)
        sin_alpha = cos(u1) * cos(u2) * sin(lon) / sin_arc
        cos2 = 1 - sin_alpha**2
        middle = cos_arc - 2 * sin(u1) * sin(u2) / cos2 if cos2 > 1e-15 else 0.0
        c = F / 16 * cos2 * (4 + F * (4 - 3 * cos2))
        before, lon = (
            lon,
            apart
            + (1 - c) * F * sin_alpha * (arc + c * sin_arc * (middle + c * cos_arc * (2 * middle**2 - 1))),
        )
        if isclose(lon, before, rel_tol=0, abs_tol=1e-13):
            return _length(cos2, arc, sin_arc, cos_arc, middle)
    raise ValueError("Vincenty's formula does not settle for these points.")


def _length(cos2: float, arc: float, sin_arc: float, cos_arc: float, middle: float) -> float:
    u = cos2 * (A_KM**2 - B_KM**2) / B_KM**2
    big = 1 + u / 16384 * (4096 + u * (u * (320 - 175 * u) - 768))
    small = u / 1024 * (256 + u * (u * (74 - 47 * u) - 128))
    third = cos_arc * (2 * middle**2 - 1)
    fourth = small / 6 * middle * (4 * sin_arc**2 - 3) * (4 * middle**2 - 3)
    return B_KM * big * (arc - small * sin_arc * (middle + small / 4 * (third - fourth)))
