//! Published equations of sodium: gypsum for it, and what a soil extract says of it.

use crate::units::KG_HA_PER_LB_AC;

/// Gypsum of the published equation, Mg/ha; see [`oster_gypsum_mg_ha`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OsterInput {
    /// How much more than stoichiometry it takes, 1.1 to 1.3.
    pub factor: f64,
    /// Depth of soil, m.
    pub depth_m: f64,
    /// Bulk density, Mg/m3 (= g/cm3).
    pub bulk_density_g_cm3: f64,
    /// CEC, meq/100 g.
    pub cec_meq_100g: f64,
    /// ESP found, percent.
    pub esp_percent: f64,
    /// ESP to come down to, percent.
    pub to_esp_percent: f64,
    /// Purity of the gypsum, percent: 100 is pure.
    pub purity_percent: f64,
}

/// A purity that is no percentage.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("gypsum of purity {0}: expected percent, above 1.5 and at most 100; 0.9 would be read as 0.9 %")]
pub struct PurityNotPercent(pub f64);

/// Refuses a purity that was given as a fraction.
///
/// # Errors
/// [`PurityNotPercent`] up to 1.5 and above 100.
pub fn purity_percent(purity: f64) -> Result<f64, PurityNotPercent> {
    if purity > 1.5 && purity <= 100.0 { Ok(purity) } else { Err(PurityNotPercent(purity)) }
}

/// Gypsum to bring the exchangeable sodium percentage down, Mg (metric tons)/ha; 0 where it is down already.
///
/// # Source
/// Oster et al. 1999, as North Dakota State Univ. prints it \[R\]:
/// `8.6 F D rho CEC (ESPi - ESPf) / p`.
///
/// # Check values
/// F 1.1, D 0.15, rho 1.3, CEC 25, ESP 15 to 5, p 90: 5.12 Mg/ha (agronomy check 56, A(R)).
///
/// # Errors
/// [`PurityNotPercent`].
pub fn oster_gypsum_mg_ha(input: &OsterInput) -> Result<f64, PurityNotPercent> {
    let purity = purity_percent(input.purity_percent)?;
    let soil = 8.6 * input.factor * input.depth_m * input.bulk_density_g_cm3;
    Ok(soil * input.cec_meq_100g * (input.esp_percent - input.to_esp_percent).max(0.0) / purity)
}

/// lb/ac in one Mg (metric ton)/ha. Source: units' own constants \[A\]. Test: 0.44609 short tons.
pub fn lb_ac_of_mg_ha(mg_ha: f64) -> f64 {
    mg_ha * 1000.0 / KG_HA_PER_LB_AC
}

/// Sodium adsorption ratio of a soil extract in meq/L.
pub fn sar(na_meq_l: f64, ca_meq_l: f64, mg_meq_l: f64) -> f64 {
    na_meq_l / ((ca_meq_l + mg_meq_l) / 2.0).sqrt()
}

/// Exchangeable sodium percentage to expect at a sodium adsorption ratio.
///
/// # Source
/// USDA Handbook 60 (Richards 1954), as Oklahoma Administrative Code 165:10 prints it \[R\]: `r = -0.0126 + 0.01475 SAR`,
/// `ESP = 100 r / (1 + r)`.
///
/// # Check values
/// SAR 13: 15.2 %; SAR 20: 22.0 % (agronomy check 58, A(R)).
pub fn esp_percent_of_sar(sar: f64) -> f64 {
    let r = -0.0126 + 0.01475 * sar;
    (100.0 * r / (1.0 + r)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::super::stoichiometry::gypsum_lb_ac;
    use super::*;

    fn close(actual: f64, expected: f64, tolerance: f64) {
        assert!((actual - expected).abs() <= tolerance, "{actual} is not within {tolerance} of {expected}");
    }

    #[test]
    fn row_56_gypsum_by_the_equation_of_oster() {
        // agronomy check 56, North Dakota State Univ. A(R).
        let input = OsterInput {
            factor: 1.1,
            depth_m: 0.15,
            bulk_density_g_cm3: 1.3,
            cec_meq_100g: 25.0,
            esp_percent: 15.0,
            to_esp_percent: 5.0,
            purity_percent: 90.0,
        };
        let mg_ha = oster_gypsum_mg_ha(&input).unwrap();
        close(mg_ha, 5.12, 0.02);
        close(lb_ac_of_mg_ha(mg_ha) / 2000.0, 2.29, 0.02);
        close(lb_ac_of_mg_ha(1.0) / 2000.0, 0.44609, 1e-5);
        // Purity is percent: 0.9 would give 512 Mg/ha, so up to 1.5 it is refused.
        for purity in [0.9, 1.0, 1.5, 0.0, -90.0, 100.1, f64::NAN] {
            let refused = oster_gypsum_mg_ha(&OsterInput { purity_percent: purity, ..input });
            assert!(refused.is_err(), "{purity}");
        }
        assert_eq!(oster_gypsum_mg_ha(&OsterInput { esp_percent: 4.0, ..input }), Ok(0.0));
        // The published 8.6 is the equivalent of gypsum: factor 1 and pure gypsum give the stoichiometry within 0.2 %.
        let pure = OsterInput { factor: 1.0, purity_percent: 100.0, ..input };
        let soil_lb_ac = 0.15 * 1.3 * 10_000.0 * 1000.0 / KG_HA_PER_LB_AC;
        let plain = gypsum_lb_ac(25.0 * 0.10, soil_lb_ac);
        close(lb_ac_of_mg_ha(oster_gypsum_mg_ha(&pure).unwrap()) / plain, 1.0, 0.002);
    }

    #[test]
    fn rows_58_59_and_60_sodium_adsorption_to_gypsum() {
        // agronomy checks 58 to 60: Handbook 60 equation; inputs of 59 from a course exercise [A(R), A(R2)].
        close(esp_percent_of_sar(13.0), 15.2, 0.1);
        close(esp_percent_of_sar(20.0), 22.0, 0.1);
        let sar = sar(36.0, 6.0, 2.0);
        close(sar, 18.0, 0.1);
        let esp = esp_percent_of_sar(sar);
        close(esp, 20.2, 0.1);
        let meq = 20.0 * (esp - 5.0) / 100.0;
        close(meq, 3.04, 0.1);
        close(gypsum_lb_ac(meq, 4e6) / 2000.0, 5.2, 0.1);
    }
}
