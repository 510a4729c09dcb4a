//! What the machine can spread: least, most, step.

/// What happens to a rate under the least the machine can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BelowLeast {
    /// Nothing is spread there.
    Zero,
    /// The least is spread there.
    Least,
}

impl BelowLeast {
    /// Name in the field file.
    pub fn name(self) -> &'static str {
        match self {
            BelowLeast::Zero => "zero",
            BelowLeast::Least => "least",
        }
    }
}

/// Rates a machine can hold, pounds of product an acre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Machine {
    /// Least rate above 0.
    pub least_lb_ac: f64,
    /// Most.
    pub most_lb_ac: f64,
    /// Rates are whole multiples of this.
    pub step_lb_ac: f64,
    /// What happens under the least.
    pub below_least: BelowLeast,
}

/// A rate as the machine will hold it, and what it changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineRate {
    /// Pounds of product an acre.
    pub product_lb_ac: f64,
    /// Pounds of product an acre that the most keeps back.
    pub left_over_lb_ac: f64,
}

impl Machine {
    /// Rounds a wanted rate once: to the nearest step (halves up), then least and most.
    ///
    /// # Guarantees
    /// Never negative, never above the most; 0 stays 0; never falls as `wanted_lb_ac` grows.
    pub fn rate(&self, wanted_lb_ac: f64) -> MachineRate {
        if wanted_lb_ac <= 0.0 {
            return MachineRate { product_lb_ac: 0.0, left_over_lb_ac: 0.0 };
        }
        let most = (self.most_lb_ac / self.step_lb_ac + 1e-9).floor() * self.step_lb_ac;
        let stepped = (wanted_lb_ac / self.step_lb_ac + 0.5).floor() * self.step_lb_ac;
        let product_lb_ac = if stepped < self.least_lb_ac {
            match self.below_least {
                BelowLeast::Zero => 0.0,
                BelowLeast::Least => (self.least_lb_ac / self.step_lb_ac - 1e-9).ceil() * self.step_lb_ac,
            }
        } else {
            stepped.min(most)
        };
        let left_over_lb_ac = if stepped > most { wanted_lb_ac - most } else { 0.0 };
        MachineRate { product_lb_ac, left_over_lb_ac }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MACHINE: Machine =
        Machine { least_lb_ac: 50.0, most_lb_ac: 400.0, step_lb_ac: 5.0, below_least: BelowLeast::Zero };

    #[test]
    fn rates_keep_to_step_least_and_most() {
        assert_eq!(MACHINE.rate(147.4).product_lb_ac, 145.0);
        assert_eq!(MACHINE.rate(147.5).product_lb_ac, 150.0);
        assert_eq!(MACHINE.rate(47.0).product_lb_ac, 0.0);
        assert_eq!(Machine { below_least: BelowLeast::Least, ..MACHINE }.rate(3.0).product_lb_ac, 50.0);
        assert_eq!(MACHINE.rate(512.0), MachineRate { product_lb_ac: 400.0, left_over_lb_ac: 112.0 });
        assert_eq!(MACHINE.rate(-3.0).product_lb_ac, 0.0);
    }

    proptest! {
        #[test]
        fn a_rate_never_falls_as_the_need_grows(a in 0.0..600.0_f64, more in 0.0..100.0_f64, least in any::<bool>()) {
            let below_least = if least { BelowLeast::Least } else { BelowLeast::Zero };
            let machine = Machine { below_least, ..MACHINE };
            let (low, high) = (machine.rate(a).product_lb_ac, machine.rate(a + more).product_lb_ac);
            prop_assert!(low <= high && high <= 400.0 && low >= 0.0);
        }
    }
}
