//! Where names stand beside their marks so that none covers another name or any mark.

use super::map_png::canvas::{Frame, Spot};

/// From a mark to its own name, and the least from a name to any other mark or name, pixels.
const OWN_GAP_PX: f32 = 3.0;
const LEAST_GAP_PX: f32 = 4.0;
/// A mark nearer than this to another's name makes one wonder whose it is, pixels.
const CLEAR_PX: f32 = 10.0;
/// What a mark that near costs.
const UNCLEAR_COST: f32 = 4.0;
/// How far off a name may stand, pixels; from the second on a line leads to it.
const FAR_PX: [f32; 3] = [0.0, 14.0, 30.0];
/// Rounds in which names that found no place go first.
const ROUNDS: usize = 12;
/// Boxes are looked up by squares of this side, pixels.
const SQUARE_PX: f32 = 64.0;

/// A name that wants to stand beside its mark.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wish {
    /// The mark.
    pub(super) mark: Frame,
    /// Width and height of the name, pixels.
    pub(super) size_px: [f32; 2],
}

/// Which of the eight places round a mark is tried first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum First {
    /// Right, left, above, below, corners: names that stand in line with their marks.
    Beside,
    /// Above, below, right, left, corners: the more names on a net of samples.
    Above,
}

/// Where a name stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// The box of the name.
    pub(super) frame: Frame,
    /// The line from the mark to a name that stands off from it.
    pub(super) line: Option<[Spot; 2]>,
}

impl Wish {
    /// The eight places round the mark, the best first; then those farther off with a line.
    fn places(&self, first: First) -> impl Iterator<Item = Place> + use<> {
        let [width, height] = self.size_px;
        let (mark, center) = (self.mark, self.mark.center());
        let (far_x, far_y) = ((mark.width + width) / 2.0, (mark.height + height) / 2.0);
        // At the corners of the mark's box; a round mark does not fill them.
        let corner_gap_px = 0.5;
        FAR_PX.into_iter().flat_map(move |off_px| {
            let (x, y) = (far_x + OWN_GAP_PX + off_px, far_y + OWN_GAP_PX + off_px);
            let (near_x, near_y) = (far_x + corner_gap_px + 0.7 * off_px, far_y + corner_gap_px + 0.7 * off_px);
            let beside = [(x, 0.0), (-x, 0.0)];
            let over = [(0.0, -y), (0.0, y)];
            let [one, two] = match first {
                First::Beside => [beside, over],
                First::Above => [over, beside],
            };
            let corners = [(near_x, -near_y), (near_x, near_y), (-near_x, -near_y), (-near_x, near_y)];
            [one[0], one[1], two[0], two[1], corners[0], corners[1], corners[2], corners[3]].map(|(dx, dy)| {
                let frame = Frame::around(Spot { x: center.x + dx, y: center.y + dy }, width, height);
                let line = (off_px > 0.0).then(|| [nearest(mark, frame.center()), nearest(frame, center)]);
                Place { frame, line }
            })
        })
    }
}

/// The place of a box that lies nearest to a spot.
fn nearest(frame: Frame, spot: Spot) -> Spot {
    Spot { x: spot.x.clamp(frame.left, frame.right()), y: spot.y.clamp(frame.top, frame.bottom()) }
}

/// Small boxes along a line.
fn along([from, to]: [Spot; 2]) -> impl Iterator<Item = Frame> {
    const N_LOOKS: usize = 8;
    (0..=N_LOOKS).map(move |look| {
        let share = look as f32 / N_LOOKS as f32;
        Frame::around(Spot { x: from.x + share * (to.x - from.x), y: from.y + share * (to.y - from.y) }, 2.0, 2.0)
    })
}

/// A place for each name inside `room`, or `None` where all places near its mark are taken.
///
/// Names with the fewest free places go first, then in the order given; where some find none, these go first in another
/// round. `cost` is what standing at a place costs, in steps of the order of `first`. `others` are marks without a name.
pub(super) fn label_places(
    wishes: &[Wish],
    others: &[Frame],
    room: Frame,
    first: First,
    cost: impl Fn(Frame) -> f32,
) -> Vec<Option<Place>> {
    let mut marks = Taken::over(room);
    for (owner, wish) in wishes.iter().enumerate() {
        marks.add(Some(owner), wish.mark);
    }
    for frame in others {
        marks.add(None, *frame);
    }
    // Places free of marks, the cheapest first; only other names can take them.
    let choices: Vec<Vec<Place>> = wishes
        .iter()
        .enumerate()
        .map(|(owner, wish)| {
            let inside = |frame: Frame| {
                room.holds(Spot { x: frame.left, y: frame.top })
                    && room.holds(Spot { x: frame.right(), y: frame.bottom() })
            };
            let with_cost = |(step, place): (usize, Place)| {
                let unclear = if marks.meets(place.frame.grown(CLEAR_PX), owner) { UNCLEAR_COST } else { 0.0 };
                (step as f32 + unclear + cost(place.frame), place)
            };
            let places = wish.places(first).enumerate();
            let free = places.filter(|(_, place)| inside(place.frame) && marks.leaves_free(place, owner));
            let mut places: Vec<(f32, Place)> = free.map(with_cost).collect();
            places.sort_by(|(a, _), (b, _)| a.total_cmp(b));
            places.into_iter().map(|(_, place)| place).collect()
        })
        .collect();
    let mut turns: Vec<usize> = (0..wishes.len()).collect();
    turns.sort_by_key(|&owner| choices[owner].len());
    let mut best: Option<(usize, Vec<Option<Place>>)> = None;
    for _ in 0..ROUNDS {
        let places = in_turn(&turns, &choices, room);
        let (waiting, placed): (Vec<usize>, Vec<usize>) =
            turns.iter().partition(|owner| places[**owner].is_none() && !choices[**owner].is_empty());
        if best.as_ref().is_none_or(|(least, _)| waiting.len() < *least) {
            best = Some((waiting.len(), places));
        }
        if waiting.is_empty() {
            break;
        }
        turns = [waiting, placed].concat();
    }
    best.map_or_else(Vec::new, |(_, places)| places)
}

/// Gives each name in turn the cheapest of its places that no earlier name or its line has taken.
fn in_turn(turns: &[usize], choices: &[Vec<Place>], room: Frame) -> Vec<Option<Place>> {
    let mut names = Taken::over(room);
    let mut places = vec![None; choices.len()];
    for &owner in turns {
        if let Some(place) = choices[owner].iter().find(|place| names.leaves_free(place, owner)) {
            names.add(None, place.frame);
            for frame in place.line.into_iter().flat_map(along) {
                names.add(None, frame);
            }
            places[owner] = Some(*place);
        }
    }
    places
}

/// Boxes that are taken, by squares of the sheet.
struct Taken {
    room: Frame,
    n_cols: usize,
    n_rows: usize,
    squares: Vec<Vec<(Option<usize>, Frame)>>,
}

impl Taken {
    fn over(room: Frame) -> Taken {
        let squares = |px: f32| (px / SQUARE_PX).ceil().max(1.0) as usize;
        let (n_cols, n_rows) = (squares(room.width), squares(room.height));
        Taken { room, n_cols, n_rows, squares: vec![Vec::new(); n_cols * n_rows] }
    }

    /// Squares a box reaches; what lies outside the room counts to the squares at its edge.
    fn under(&self, frame: Frame) -> impl Iterator<Item = usize> + use<> {
        let col = |x: f32| (((x - self.room.left) / SQUARE_PX).max(0.0) as usize).min(self.n_cols - 1);
        let row = |y: f32| (((y - self.room.top) / SQUARE_PX).max(0.0) as usize).min(self.n_rows - 1);
        let (cols, n_cols) = (col(frame.left)..=col(frame.right()), self.n_cols);
        (row(frame.top)..=row(frame.bottom())).flat_map(move |row| cols.clone().map(move |col| row * n_cols + col))
    }

    fn add(&mut self, owner: Option<usize>, frame: Frame) {
        for square in self.under(frame) {
            self.squares[square].push((owner, frame));
        }
    }

    /// Whether a name could stand at a place with nothing foreign under it or its line.
    fn leaves_free(&self, place: &Place, asker: usize) -> bool {
        let line_is_free = |line| along(line).all(|frame| !self.meets(frame, asker));
        !self.meets(place.frame.grown(LEAST_GAP_PX), asker) && place.line.is_none_or(line_is_free)
    }

    /// Whether a box meets one that is not the asker's own mark.
    fn meets(&self, frame: Frame, asker: usize) -> bool {
        let foreign = |(owner, other): &(Option<usize>, Frame)| *owner != Some(asker) && other.meets(frame);
        self.under(frame).any(|square| self.squares[square].iter().any(foreign))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ROOM: Frame = Frame { left: 10.0, top: 20.0, width: 600.0, height: 400.0 };

    fn wish(x: f32, y: f32, width: f32) -> Wish {
        Wish { mark: Frame::around(Spot { x, y }, 18.0, 18.0), size_px: [width, 20.0] }
    }

    proptest! {
        #[test]
        fn no_name_covers_a_name_or_a_mark_or_leaves_the_room(
            marks in proptest::collection::vec((0f32..640.0, 0f32..440.0, 8f32..160.0), 0..120),
            others in proptest::collection::vec((0f32..640.0, 0f32..440.0), 0..20),
        ) {
            let wishes: Vec<Wish> = marks.iter().map(|&(x, y, width)| wish(x, y, width)).collect();
            let others: Vec<Frame> = others.iter().map(|&(x, y)| wish(x, y, 0.0).mark).collect();
            let first = if others.len().is_multiple_of(2) { First::Beside } else { First::Above };
            let places = label_places(&wishes, &others, ROOM, first, |_| 0.0);
            prop_assert_eq!(places.len(), wishes.len());
            let named: Vec<Frame> = places.iter().flatten().map(|place| place.frame).collect();
            for (index, frame) in named.iter().enumerate() {
                prop_assert!(named[..index].iter().all(|other| !other.meets(*frame)));
                prop_assert!(wishes.iter().map(|wish| &wish.mark).chain(&others).all(|mark| !mark.meets(*frame)));
                let lines = || places.iter().flatten().filter_map(|place| place.line).flat_map(along);
                prop_assert!(lines().all(|piece| !piece.grown(-1.1).meets(frame.grown(-1.1))));
                prop_assert!(ROOM.left <= frame.left && frame.right() <= ROOM.right());
                prop_assert!(ROOM.top <= frame.top && frame.bottom() <= ROOM.bottom());
            }
        }
    }

    #[test]
    fn a_lone_name_stands_at_the_right_and_at_the_left_where_the_room_ends() {
        let places =
            label_places(&[wish(300.0, 200.0, 50.0), wish(580.0, 100.0, 50.0)], &[], ROOM, First::Beside, |_| 0.0);
        let [Some(Place { frame: lone, line: None }), Some(Place { frame: at_edge, line: None })] = places[..] else {
            panic!("{places:?}")
        };
        assert!(lone.left > 309.0 && (lone.center().y - 200.0).abs() < 0.01);
        assert!(at_edge.right() < 571.0 && (at_edge.center().y - 100.0).abs() < 0.01);
    }

    #[test]
    fn a_name_keeps_off_what_costs_and_is_left_out_where_nothing_is_free() {
        let costly = |frame: Frame| if frame.left > 300.0 { 3.0 } else { 0.0 };
        let places = label_places(&[wish(300.0, 200.0, 50.0)], &[], ROOM, First::Beside, costly);
        assert!(places[0].expect("a place").frame.right() < 291.0);
        let ring = |far: f32, n: usize| {
            (0..n).map(move |step| {
                let (sin, cos) = (step as f32 / n as f32 * std::f32::consts::TAU).sin_cos();
                wish(300.0 + far * cos, 200.0 + far * sin, 0.0).mark
            })
        };
        let near: Vec<Frame> = ring(26.0, 6).collect();
        let place = label_places(&[wish(300.0, 200.0, 20.0)], &near, ROOM, First::Beside, |_| 0.0)[0].expect("a place");
        assert!(place.line.is_some() && near.iter().all(|mark| !mark.meets(place.frame)));
        let all: Vec<Frame> = ring(26.0, 12).chain(ring(50.0, 20)).chain(ring(75.0, 30)).collect();
        assert_eq!(label_places(&[wish(300.0, 200.0, 50.0)], &all, ROOM, First::Beside, |_| 0.0), [None]);
    }
}
