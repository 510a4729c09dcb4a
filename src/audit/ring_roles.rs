//! Which rings are exteriors and which are holes, by how they lie in one another.

use geo::{BoundingRect as _, Contains as _, LineString, MultiPolygon, Point, Polygon};

/// Polygons of rings whose stated roles are not relied on: a ring inside an odd number of others is a hole of the
/// smallest of them.
pub fn polygons_of(rings: Vec<LineString>) -> MultiPolygon {
    let rings: Vec<LineString> = rings.into_iter().filter(|ring| ring.0.len() >= 3).collect();
    if let [only] = rings.as_slice() {
        return MultiPolygon::new(vec![Polygon::new(only.clone(), Vec::new())]);
    }
    let roles = roles(&rings);
    let mut polygons: Vec<(usize, Polygon)> = roles
        .iter()
        .enumerate()
        .filter(|(_, role)| **role == Role::Exterior)
        .map(|(index, _)| (index, Polygon::new(rings[index].clone(), Vec::new())))
        .collect();
    for (hole, role) in roles.iter().enumerate() {
        if let Role::HoleOf(outer) = role
            && let Some((_, polygon)) = polygons.iter_mut().find(|(index, _)| index == outer)
        {
            polygon.interiors_push(rings[hole].clone());
        }
    }
    polygons.into_iter().map(|(_, polygon)| polygon).collect()
}

/// What a ring is by how it lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// It bounds ground from outside.
    Exterior,
    /// It is a hole of the ring of that index.
    HoleOf(usize),
}

/// The role of each ring.
pub fn roles(rings: &[LineString]) -> Vec<Role> {
    let solid: Vec<Polygon> = rings.iter().map(|ring| Polygon::new(ring.clone(), Vec::new())).collect();
    let around = |ring: usize| -> Vec<usize> {
        (0..rings.len()).filter(|other| *other != ring && lies_in(&rings[ring], &solid[*other])).collect()
    };
    let around: Vec<Vec<usize>> = (0..rings.len()).map(around).collect();
    let role = |ring: usize| match around[ring].len() % 2 {
        0 => Role::Exterior,
        // Of the rings around, the one with the most around itself is the next.
        _ => match around[ring].iter().max_by_key(|outer| around[**outer].len()) {
            Some(outer) => Role::HoleOf(*outer),
            None => Role::Exterior,
        },
    };
    (0..rings.len()).map(role).collect()
}

/// Whether a ring lies in a polygon: most of its corners do. A hole may touch its outer ring.
fn lies_in(ring: &LineString, polygon: &Polygon) -> bool {
    let (Some(inner), Some(outer)) = (ring.bounding_rect(), polygon.bounding_rect()) else { return false };
    let (a, b, c, d) = (inner.min(), inner.max(), outer.min(), outer.max());
    if a.x < c.x || a.y < c.y || b.x > d.x || b.y > d.y {
        return false;
    }
    let n_in = ring.points().filter(|corner: &Point| polygon.contains(corner)).count();
    2 * n_in > ring.0.len()
}

#[cfg(test)]
mod tests {
    use geo::Area as _;

    use super::*;

    fn square(at: f64, side: f64) -> LineString {
        LineString::from(vec![(at, at), (at + side, at), (at + side, at + side), (at, at + side), (at, at)])
    }

    #[test]
    fn a_hole_before_its_outer_and_an_island_in_the_hole() {
        let rings = vec![square(3.0, 4.0), square(0.0, 10.0), square(4.0, 2.0)];
        assert_eq!(roles(&rings), [Role::HoleOf(1), Role::Exterior, Role::Exterior]);
        let polygons = polygons_of(rings);
        assert_eq!(polygons.0.len(), 2);
        assert!((polygons.unsigned_area() - (100.0 - 16.0 + 4.0)).abs() < 1e-12);
    }

    #[test]
    fn rings_side_by_side_are_exteriors_whatever_their_direction() {
        let mut turned = square(20.0, 1.0);
        turned.0.reverse();
        assert_eq!(roles(&[square(0.0, 1.0), turned]), [Role::Exterior, Role::Exterior]);
    }
}
