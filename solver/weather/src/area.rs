//! Where an alert holds: polygons, circles, codes of zones; and whether a place lies there.

use yardless_book::Place;

use super::shown;

/// Mean radius of the Earth in kilometres, as in H6.
const EARTH_KM: f64 = 6371.0088;

/// Most systems of codes that are told of one alert.
const MOST_SYSTEMS: usize = 5;
/// Degrees within which a point is on a line: a tenth of a millimetre.
const HAIR: f64 = 1e-9;

/// Where an alert holds. All points are latitude, longitude in degrees.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Area {
    /// Polygons, with their holes.
    pub polygons: Vec<Polygon>,
    /// Circles.
    pub circles: Vec<Circle>,
    /// UGC and SAME codes, in capitals.
    pub codes: Vec<String>,
    /// Systems of codes that are given besides and not known here, by name, each once.
    pub systems: Vec<String>,
}

/// A polygon: rings whose last point is their first.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon {
    /// The outer ring.
    pub outer: Vec<[f64; 2]>,
    /// What is cut out of it.
    pub holes: Vec<Vec<[f64; 2]>>,
}

/// All points within a distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// The middle.
    pub center: [f64; 2],
    /// Kilometres.
    pub radius_km: f64,
}

/// Whether a place lies in an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Match {
    /// It does.
    In,
    /// It does not.
    Out,
    /// The area is given in a way that the place gives nothing for.
    Unknown,
}

impl Area {
    /// Whether it names anything that a place could be matched to.
    pub(super) fn is_empty(&self) -> bool {
        !self.has_shape() && self.codes.is_empty()
    }
    /// Takes in the name of a system of codes that is not known here. A few are told, however many there are.
    pub(super) fn names(&mut self, system: &str) {
        let system = shown(system);
        if self.systems.len() < MOST_SYSTEMS && !self.systems.contains(&system) {
            self.systems.push(system);
        }
    }
    fn has_shape(&self) -> bool {
        !self.polygons.is_empty() || !self.circles.is_empty()
    }

    /// Whether a place lies in it, by its coordinates or by one of its zones.
    pub(super) fn matches(&self, place: &Place) -> Match {
        let by_code = self.codes.iter().any(|code| place.zones.iter().any(|zone| same_zone(zone, code)));
        let by_shape = place.at.is_some_and(|at| {
            self.polygons.iter().any(|polygon| polygon.holds(at))
                || self.circles.iter().any(|circle| kilometres(circle.center, at) <= circle.radius_km)
        });
        let judged = (self.has_shape() && place.at.is_some()) || (!self.codes.is_empty() && !place.zones.is_empty());
        match (by_code || by_shape, judged) {
            (true, _) => Match::In,
            (false, true) => Match::Out,
            (false, false) => Match::Unknown,
        }
    }
}

impl Polygon {
    /// Whether a point lies in it; on the line counts as in.
    pub(super) fn holds(&self, at: [f64; 2]) -> bool {
        side(&self.outer, at) != Side::Out && self.holes.iter().all(|hole| side(hole, at) != Side::In)
    }
}

/// A ring of at least four points on the globe that closes.
pub(super) fn ring(points: Vec<[f64; 2]>) -> Result<Vec<[f64; 2]>, String> {
    if points.len() < 4 {
        return Err(format!("the ring has {} points; it takes 4 at least, the last one the first again", points.len()));
    }
    if points.first() != points.last() {
        return Err("the ring does not end where it begins".to_owned());
    }
    points.iter().try_for_each(|point| on_globe(*point)).map(|()| points)
}

/// Refuses what is no latitude and longitude.
pub(super) fn on_globe([lat, lon]: [f64; 2]) -> Result<(), String> {
    if lat.abs() <= 90.0 && lon.abs() <= 180.0 {
        return Ok(());
    }
    let swapped = if lat.abs() <= 180.0 && lon.abs() <= 90.0 { "; the two look swapped" } else { "" };
    Err(format!("latitude {lat}, longitude {lon} is not on the globe{swapped}"))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    In,
    Line,
    Out,
}

/// On which side of a ring a point lies, on the flat map of latitude and longitude, across the 180th meridian too.
fn side(ring: &[[f64; 2]], [lat, lon]: [f64; 2]) -> Side {
    let mut inside = false;
    let mut before: Option<[f64; 2]> = None;
    for &[y, x] in ring {
        // Each point stands within half a turn of the one before; the first, of the point asked about.
        let near = before.map_or(lon, |[_, x]| x);
        let here = [y, x - 360.0 * ((x - near) / 360.0).round()];
        // Most edges are all north or all south of the point.
        if let Some(last) = before.filter(|[south, _]| south.min(y) - HAIR <= lat && lat <= south.max(y) + HAIR) {
            for turn in [-360.0, 0.0, 360.0] {
                match crosses(last, here, [lat, lon + turn]) {
                    Side::Line => return Side::Line,
                    Side::In => inside = !inside,
                    Side::Out => {}
                }
            }
        }
        before = Some(here);
    }
    if inside { Side::In } else { Side::Out }
}

/// Whether a line to the east of the point crosses an edge (`In`), or the point is on the edge.
fn crosses([y1, x1]: [f64; 2], [y2, x2]: [f64; 2], [y, x]: [f64; 2]) -> Side {
    let across = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1);
    let within = |a: f64, b: f64, v: f64| a.min(b) - HAIR <= v && v <= a.max(b) + HAIR;
    if across.abs() <= HAIR * ((x2 - x1).abs() + (y2 - y1).abs()) && within(x1, x2, x) && within(y1, y2, y) {
        return Side::Line;
    }
    if (y1 > y) != (y2 > y) && x < x1 + (x2 - x1) * (y - y1) / (y2 - y1) { Side::In } else { Side::Out }
}

/// Great-circle kilometres.
fn kilometres([lat1, lon1]: [f64; 2], [lat2, lon2]: [f64; 2]) -> f64 {
    let half = |degrees: f64| (degrees.to_radians() / 2.0).sin().powi(2);
    let chord = half(lat2 - lat1) + lat1.to_radians().cos() * lat2.to_radians().cos() * half(lon2 - lon1);
    2.0 * EARTH_KM * chord.sqrt().min(1.0).asin()
}

/// Whether a place's zone is the one an alert names. SAME codes (47 CFR 11.31): the first digit is a part of the county, 0 all
/// of it; county 000 is the whole state, 000000 the whole country.
fn same_zone(zone: &str, code: &str) -> bool {
    match (zone.as_bytes(), code.as_bytes()) {
        ([p, county @ ..], [q, named @ ..]) if zone.len() == 6 && same_code(code) && same_code(zone) => {
            (p == q || *p == b'0' || *q == b'0') && (county == named || named == b"00000")
                || (named.ends_with(b"000") && county.starts_with(&named[..2]))
        }
        _ => zone.eq_ignore_ascii_case(code),
    }
}

fn same_code(code: &str) -> bool {
    code.len() == 6 && code.bytes().all(|digit| digit.is_ascii_digit())
}
