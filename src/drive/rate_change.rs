//! How a machine goes from one rate to the next.

/// Time constants in the time to 95 % of a new rate: e^-3 = 0.0498.
const TIME_CONSTANTS_TO_95_PERCENT: f64 = 3.0;

/// A dead time, then a first-order lag.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateChange {
    /// Time from the first movement to 95 % of a new rate, seconds; 0 = at once.
    pub change_s: f64,
    /// Time before anything moves, seconds.
    pub delay_s: f64,
    /// How far ahead, in time, the controller reads its order, seconds.
    pub look_ahead_s: f64,
}

impl RateChange {
    /// How far ahead of the machine the order that works on it lies, meters; negative behind it.
    pub fn ahead_m(&self, speed_m_s: f64) -> f64 {
        (self.look_ahead_s - self.delay_s) * speed_m_s
    }

    /// The rate `time_s` after `rate` while `order` stands.
    pub fn after(&self, rate: f64, order: f64, time_s: f64) -> f64 {
        order + (rate - order) * (-self.constants(time_s)).exp()
    }

    /// The mean rate over that time.
    pub fn mean(&self, rate: f64, order: f64, time_s: f64) -> f64 {
        let x = self.constants(time_s);
        if x == 0.0 { rate } else { order + (rate - order) * -(-x).exp_m1() / x }
    }

    /// Time constants in a time.
    fn constants(&self, time_s: f64) -> f64 {
        // 0 / 0 would be no number: no time has passed.
        if time_s == 0.0 { 0.0 } else { TIME_CONSTANTS_TO_95_PERCENT * time_s / self.change_s }
    }
}
