//! How much ground holds, by CEC.

use crate::samples::Limit;

/// How much ground holds, by CEC.
///
/// # Source
/// Heuristic; the edges 5 and 12 echo Culman et al. 2020 (Tri-State, Bulletin 974) \[R2\] and the Illinois Agronomy Handbook
/// ch. 8 \[M\]. For scale: sands 3 to 5, loams 10 to 15, silt loams 15 to 25, clay and clay loams 20 to 50 meq/100 g (Ohio
/// State Univ. Extension ANR-81, 2019 \[R\]).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoldingClass {
    /// CEC up to 5.
    Little,
    /// Above 5 up to 12.
    Some,
    /// Above 12.
    Much,
}

impl HoldingClass {
    /// The CEC up to which ground holds little, and up to which it holds some, meq/100 g.
    pub const EDGES_MEQ_100G: [f64; 2] = [5.0, 12.0];

    /// Class of a CEC in meq/100 g.
    pub fn of(cec_meq_100g: f64) -> Self {
        Self::by_edges(cec_meq_100g, Self::EDGES_MEQ_100G)
    }

    /// Class of a CEC by other edges: up to which ground holds little, and up to which it holds some, meq/100 g.
    pub fn by_edges(cec_meq_100g: f64, [little, some]: [f64; 2]) -> Self {
        match cec_meq_100g {
            cec if cec <= little => HoldingClass::Little,
            cec if cec <= some => HoldingClass::Some,
            _ => HoldingClass::Much,
        }
    }

    /// Class of a CEC that may be a limit: `<5` holds little, `>12` much; `None` where the limit leaves it open.
    pub fn of_limit(cec_meq_100g: f64, limit: Limit) -> Option<Self> {
        let [little, some] = Self::EDGES_MEQ_100G;
        match limit {
            Limit::Exact => Some(Self::of(cec_meq_100g)),
            Limit::Below => (cec_meq_100g <= little).then_some(HoldingClass::Little),
            Limit::Above => (cec_meq_100g >= some).then_some(HoldingClass::Much),
        }
    }

    /// Words in sentences and on maps.
    pub fn words(self) -> &'static str {
        match self {
            HoldingClass::Little => "holds little",
            HoldingClass::Some => "holds some",
            HoldingClass::Much => "holds much",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_cecs_fall_where_their_soils_belong() {
        // Ohio State Univ. Extension ANR-81 (2019), table 1 [R]: sands 3 to 5, silt loams 15 to 25, clays 20 to 50.
        assert_eq!([3.0, 5.0].map(HoldingClass::of), [HoldingClass::Little; 2]);
        assert_eq!([15.0, 25.0, 20.0, 50.0].map(HoldingClass::of), [HoldingClass::Much; 4]);
        assert_eq!([5.1, 12.0].map(HoldingClass::of), [HoldingClass::Some; 2]);
    }

    #[test]
    fn a_limit_is_classed_only_where_it_leaves_no_doubt() {
        assert_eq!(HoldingClass::of_limit(5.0, Limit::Below), Some(HoldingClass::Little));
        assert_eq!(HoldingClass::of_limit(8.0, Limit::Below), None);
        assert_eq!(HoldingClass::of_limit(12.0, Limit::Above), Some(HoldingClass::Much));
        assert_eq!(HoldingClass::of_limit(4.0, Limit::Above), None);
    }
}
