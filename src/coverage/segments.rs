//! Exact questions about straight edges between integer places, and which edges come near each other.

use super::lattice::Vertex;

/// A straight edge.
pub(super) type Segment = [Vertex; 2];

/// Twice the signed area of the triangle `a`, `b`, `c`: above 0 if `c` is on the left of the way from `a` to `b`.
pub(super) fn turn(a: Vertex, b: Vertex, c: Vertex) -> i64 {
    let along = (i64::from(b.x) - i64::from(a.x), i64::from(b.y) - i64::from(a.y));
    let aside = (i64::from(c.x) - i64::from(a.x), i64::from(c.y) - i64::from(a.y));
    along.0 * aside.1 - along.1 * aside.0
}

/// Twice the signed area of a ring, closed or not; counter-clockwise is above 0.
pub(super) fn doubled_area(ring: &[Vertex]) -> i64 {
    let Some(&first) = ring.first() else { return 0 };
    // Single fans may overflow on their way to an area that fits.
    ring.windows(2).fold(0_i64, |sum, edge| sum.wrapping_add(turn(first, edge[0], edge[1])))
}

/// Whether a place lies on an edge, its ends included.
pub(super) fn is_on(place: Vertex, [a, b]: Segment) -> bool {
    let between = |low: i32, high: i32, at: i32| low.min(high) <= at && at <= low.max(high);
    turn(a, b, place) == 0 && between(a.x, b.x, place.x) && between(a.y, b.y, place.y)
}

/// Whether two edges meet anywhere but in an end of both.
pub(super) fn conflict(s: Segment, t: Segment) -> bool {
    let is_end_in = |place: Vertex, edge: Segment| place != edge[0] && place != edge[1] && is_on(place, edge);
    if is_end_in(s[0], t) || is_end_in(s[1], t) || is_end_in(t[0], s) || is_end_in(t[1], s) {
        return true;
    }
    is_same(s, t) || crosses_inside(s, t)
}

fn is_same(s: Segment, t: Segment) -> bool {
    s == t || s == [t[1], t[0]]
}

/// Whether two edges cross in a place that is an end of neither.
pub(super) fn crosses_inside(s: Segment, t: Segment) -> bool {
    let sides = |edge: Segment, ends: Segment| {
        turn(edge[0], edge[1], ends[0]).signum() * turn(edge[0], edge[1], ends[1]).signum()
    };
    sides(s, t) < 0 && sides(t, s) < 0
}

/// Whether a place lies in rings by crossing parity; on an edge either answer may come.
///
/// The place is `place / scale`, so that means of vertices need no rounding.
pub(super) fn is_inside<'a>(place: (i64, i64), scale: i64, rings: impl IntoIterator<Item = &'a [Vertex]>) -> bool {
    let mut inside = false;
    for ring in rings {
        for edge in ring.windows(2) {
            let [a, b] = [edge[0], edge[1]].map(|end| (i64::from(end.x) * scale, i64::from(end.y) * scale));
            if (a.1 > place.1) != (b.1 > place.1) {
                let side = (b.0 - a.0) * (place.1 - a.1) - (b.1 - a.1) * (place.0 - a.0);
                inside ^= (side > 0) == (b.1 > a.1);
            }
        }
    }
    inside
}

/// Calls `pair(i, j)`, i < j, once for all edges whose bounds touch.
///
/// Strips of even height, in each a sweep by west ends: near linear time for edges short against the whole.
pub(super) fn for_pairs_near(segments: &[Segment], mut pair: impl FnMut(usize, usize)) {
    let low = segments.iter().flatten().map(|end| i64::from(end.y)).min().unwrap_or(0);
    let high = segments.iter().flatten().map(|end| i64::from(end.y)).max().unwrap_or(0);
    let n_strips = (segments.len() as f64).sqrt().ceil().max(1.0) as i64;
    let height = (high - low) / n_strips + 1;
    let strip = |y: i32| (i64::from(y) - low) / height;
    let y_range = |edge: Segment| (edge[0].y.min(edge[1].y), edge[0].y.max(edge[1].y));
    let x_range = |edge: Segment| (edge[0].x.min(edge[1].x), edge[0].x.max(edge[1].x));
    let mut strips: Vec<Vec<u32>> = vec![Vec::new(); n_strips as usize];
    let mut order: Vec<u32> = (0..segments.len() as u32).collect();
    order.sort_unstable_by_key(|&index| (x_range(segments[index as usize]).0, index));
    for index in order {
        let (south, north) = y_range(segments[index as usize]);
        for member in &mut strips[strip(south) as usize..=strip(north) as usize] {
            member.push(index);
        }
    }
    for (number, strip_members) in strips.iter().enumerate() {
        for (at, &i) in strip_members.iter().enumerate() {
            let (_, east) = x_range(segments[i as usize]);
            let (south, north) = y_range(segments[i as usize]);
            for &j in &strip_members[at + 1..] {
                if x_range(segments[j as usize]).0 > east {
                    break;
                }
                let (other_south, other_north) = y_range(segments[j as usize]);
                // A pair that shares several strips is told in the first of them.
                if other_south <= north && south <= other_north && strip(south.max(other_south)) == number as i64 {
                    pair(i.min(j) as usize, i.max(j) as usize);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edge(a: (i32, i32), b: (i32, i32)) -> Segment {
        [Vertex { x: a.0, y: a.1 }, Vertex { x: b.0, y: b.1 }]
    }

    #[test]
    fn edges_conflict_unless_they_meet_in_ends() {
        let s = edge((0, 0), (10, 0));
        assert!(!conflict(s, edge((10, 0), (20, 1))));
        assert!(!conflict(s, edge((10, 0), (20, 0))));
        assert!(!conflict(s, edge((0, 1), (10, 1))));
        for t in [((5, -1), (5, 1)), ((5, 0), (5, 1)), ((0, 0), (10, 0)), ((10, 0), (0, 0)), ((10, 0), (3, 0))] {
            assert!(conflict(s, edge(t.0, t.1)), "{t:?}");
            assert!(conflict(edge(t.0, t.1), s), "{t:?}");
        }
    }

    #[test]
    fn near_pairs_are_those_of_trying_all() {
        let mut state = 1_u64;
        let mut next = |limit: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((state >> 33) % limit) as i32
        };
        for n in [0, 1, 2, 30, 200] {
            let segments: Vec<Segment> = (0..n).map(|_| edge((next(90), next(90)), (next(90), next(90)))).collect();
            let touches = |s: Segment, t: Segment, of: fn(Vertex) -> i32| {
                of(s[0]).min(of(s[1])) <= of(t[0]).max(of(t[1])) && of(t[0]).min(of(t[1])) <= of(s[0]).max(of(s[1]))
            };
            let mut expected = Vec::new();
            for i in 0..segments.len() {
                for j in i + 1..segments.len() {
                    let (s, t) = (segments[i], segments[j]);
                    if touches(s, t, |end| end.x) && touches(s, t, |end| end.y) {
                        expected.push((i, j));
                    }
                }
            }
            let mut found = Vec::new();
            for_pairs_near(&segments, |i, j| found.push((i, j)));
            found.sort_unstable();
            assert_eq!(found, expected);
        }
    }
}
