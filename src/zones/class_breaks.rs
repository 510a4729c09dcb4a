//! Stated class breaks: zones are the combinations of classes that exist on the field.

use super::zone_settings::ClassBreaks;

impl ClassBreaks {
    /// Class of a value, from 0: as many as there are edges at or below it, so a value on an edge belongs above.
    pub fn class_of(&self, value: f64) -> usize {
        self.edges.iter().filter(|&&edge| value >= edge).count()
    }

    /// A class in words: `CEC 8 to 16`.
    pub fn words(&self, class: usize) -> String {
        let label = self.quantity.label();
        match (class.checked_sub(1).and_then(|below| self.edges.get(below)), self.edges.get(class)) {
            (None, None) => label.to_owned(),
            (None, Some(to)) => format!("{label} below {to}"),
            (Some(from), None) => format!("{label} {from} and above"),
            (Some(from), Some(to)) => format!("{label} {from} to {to}"),
        }
    }
}

/// Number of the combination of classes the values fall in; the last quantity counts fastest.
///
/// # Shape
/// One value a quantity, in the order of `breaks`, each in the unit of its edges.
pub fn combination_of(breaks: &[ClassBreaks], values: &[f64]) -> usize {
    breaks
        .iter()
        .zip(values)
        .fold(0, |number, (breaks, &value)| number * (breaks.edges.len() + 1) + breaks.class_of(value))
}

/// A combination in words: `CEC 8 to 16, calcium and magnesium share of CEC 80 and above`.
pub fn combination_words(breaks: &[ClassBreaks], combination: usize) -> String {
    let mut rest = combination;
    let mut words: Vec<String> = Vec::new();
    for breaks in breaks.iter().rev() {
        words.push(breaks.words(rest % (breaks.edges.len() + 1)));
        rest /= breaks.edges.len() + 1;
    }
    words.reverse();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::soil_surface::Variable;
    use crate::zones::ZoneQuantity;

    fn two() -> Vec<ClassBreaks> {
        vec![
            ClassBreaks { quantity: ZoneQuantity::Soil(Variable::Cec), edges: vec![8.0, 16.0] },
            ClassBreaks { quantity: ZoneQuantity::Soil(Variable::CaMgSaturation), edges: vec![80.0] },
        ]
    }

    #[test]
    fn an_edge_belongs_to_the_class_above_it() {
        let classes = [7.999, 8.0, 15.999, 16.0, 99.0].map(|cec| two()[0].class_of(cec));
        assert_eq!(classes, [0, 1, 1, 2, 2]);
    }

    /// Three CEC classes by two of Ca and Mg: (below 8, below 80) is 0, (8 to 16, from 80) is 1 * 2 + 1.
    #[test]
    fn combinations_are_numbered_and_named() {
        assert_eq!(combination_of(&two(), &[5.0, 70.0]), 0);
        assert_eq!(combination_of(&two(), &[8.0, 80.0]), 3);
        assert_eq!(combination_of(&two(), &[20.0, 79.9]), 4);
        assert_eq!(combination_words(&two(), 3), "CEC 8 to 16, calcium and magnesium share of CEC 80 and above");
        assert_eq!(combination_words(&two(), 0), "CEC below 8, calcium and magnesium share of CEC below 80");
        assert_eq!(combination_words(&two(), 4), "CEC 16 and above, calcium and magnesium share of CEC below 80");
    }
}
