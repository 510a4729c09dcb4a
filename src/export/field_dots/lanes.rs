//! Where dots and names stand above a ruler so that none covers another.

/// A named dot: where it stands on the ruler and how far its name reaches to the right, pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Flag {
    pub(super) x: f32,
    pub(super) reach_px: f32,
}

/// Lane of each flag, 0 lowest. A flag's line runs from its lane down to the ruler; its name runs to the right and so must
/// stand above every line to the right that it reaches. `flags` ascend in `x`; `floor_px(from, to)` is the height of what
/// already stands on the ruler between two places.
pub(super) fn lanes(flags: &[Flag], lane_px: f32, floor_px: impl Fn(f32, f32) -> f32) -> Vec<usize> {
    let mut lanes = vec![0; flags.len()];
    for index in (0..flags.len()).rev() {
        let flag = flags[index];
        let reach = flag.x + flag.reach_px;
        let right = (index + 1..flags.len()).take_while(|other| flags[*other].x <= reach);
        let above = right.map(|other| lanes[other] + 1).max().unwrap_or(0);
        let floor = (floor_px(flag.x, reach) / lane_px).ceil().max(0.0) as usize;
        lanes[index] = above.max(floor);
    }
    lanes
}

/// Level of each dot in a heap on the ruler, 0 lowest: the lowest on which it touches no other. `xs` ascend.
pub(super) fn heap(xs: &[f32], apart_px: f32) -> Vec<usize> {
    let mut last_on: Vec<f32> = Vec::new();
    xs.iter()
        .map(|x| match last_on.iter().position(|last| x - last >= apart_px) {
            Some(level) => {
                last_on[level] = *x;
                level
            }
            None => {
                last_on.push(*x);
                last_on.len() - 1
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_name_meets_another_name_or_the_line_of_another_dot(
            flags in proptest::collection::vec((0f32..900.0, 10f32..400.0), 0..60),
        ) {
            let mut flags: Vec<Flag> = flags.into_iter().map(|(x, reach_px)| Flag { x, reach_px }).collect();
            flags.sort_by(|a, b| a.x.total_cmp(&b.x));
            let lanes = lanes(&flags, 30.0, |_, _| 0.0);
            for (i, flag) in flags.iter().enumerate() {
                for (j, other) in flags.iter().enumerate().filter(|(j, _)| *j > i) {
                    let reached = other.x <= flag.x + flag.reach_px;
                    prop_assert!(!reached || lanes[j] < lanes[i], "{flag:?} {other:?}");
                }
            }
        }

        #[test]
        fn no_dot_of_a_heap_touches_another(xs in proptest::collection::vec(0f32..300.0, 0..200)) {
            let mut xs = xs;
            xs.sort_by(f32::total_cmp);
            let levels = heap(&xs, 9.0);
            for i in 0..xs.len() {
                for j in 0..i {
                    prop_assert!(levels[i] != levels[j] || xs[i] - xs[j] >= 9.0);
                }
            }
        }
    }

    #[test]
    fn names_stand_above_what_is_heaped_below_them() {
        let flags = [Flag { x: 0.0, reach_px: 50.0 }];
        assert_eq!(lanes(&flags, 30.0, |_, _| 61.0), [3]);
        assert_eq!(heap(&[1.0, 1.0, 1.0], 9.0), [0, 1, 2]);
    }
}
