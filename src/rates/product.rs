//! Products and passes.

/// A material with its guaranteed content. Nutrient and product never share a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// Short name, 1 to 4 letters; starts file names.
    pub short: String,
    /// Printed name.
    pub name: String,
    /// Content, percent K2O.
    pub k2o_percent: f64,
    /// Delivered price, USD a short ton; `None` = unknown.
    pub usd_short_ton: Option<f64>,
}

impl Product {
    /// Pounds of product an acre that bring `k2o_lb_ac`.
    ///
    /// Check: K2O 90 lb as 0-0-60 is 150 lb (agronomy check 76, A(R)).
    pub fn product_lb_ac(&self, k2o_lb_ac: f64) -> f64 {
        k2o_lb_ac / (self.k2o_percent / 100.0)
    }

    /// Pounds of K2O an acre in `product_lb_ac`.
    pub fn k2o_lb_ac(&self, product_lb_ac: f64) -> f64 {
        product_lb_ac * self.k2o_percent / 100.0
    }
}

/// One trip over the field.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// Printed name.
    pub name: String,
    /// Short name of the product.
    pub product: String,
    /// Cost of the trip, USD an acre driven; `None` = unknown.
    pub usd_ac: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn row_76_k2o_90_lb_is_150_lb_of_0_0_60() {
        // agronomy check 76, A(R): arithmetic on the label analysis.
        let potash =
            Product { short: "POT".into(), name: "Potash 0-0-60".into(), k2o_percent: 60.0, usd_short_ton: None };
        assert!((potash.product_lb_ac(90.0) - 150.0).abs() < 0.1);
        assert!((potash.k2o_lb_ac(150.0) - 90.0).abs() < 1e-9);
    }
}
