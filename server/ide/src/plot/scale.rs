//! From quantities to places on paper.

/// A range of numbers on a stretch of paper.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    from: f64,
    to: f64,
    /// Where these two lie.
    at: (f64, f64),
}

impl Scale {
    pub(super) fn new(from: f64, to: f64, at: (f64, f64)) -> Self {
        Self { from, to, at }
    }

    pub(super) fn place(&self, number: f64) -> f64 {
        // Both halved, so that the widest range that floats have does not overflow.
        let part = (number / 2.0 - self.from / 2.0) / (self.to / 2.0 - self.from / 2.0);
        self.at.0 + part * (self.at.1 - self.at.0)
    }
}

/// Round numbers around a range, about `count` of them, the first not above the least and the last not below the
/// greatest number.
pub(super) fn ticks(least: f64, most: f64, count: f64) -> Vec<f64> {
    let (least, most) = match most - least > f64::EPSILON * least.abs().max(most.abs()) {
        true => (least, most),
        // Something that does not change stands in the middle.
        false => {
            let around = (least.abs() / 2.0).max(0.5);
            (least - around, most + around)
        }
    };
    let rough = (most / count - least / count).max(f64::MIN_POSITIVE);
    let power = 10_f64.powi(libm::log10(rough).floor() as i32);
    let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
    let step = steps.into_iter().find(|step| *step >= rough * (1.0 - 1e-9));
    let step = step.unwrap_or(rough);
    let (first, last) = ((least / step + 1e-9).floor(), (most / step - 1e-9).ceil());
    let all = (last - first).clamp(1.0, 100.0) as u32;
    (0..=all).map(|at| (first + f64::from(at)) * step).collect()
}

/// So many decimals tell the ticks apart.
pub(super) fn decimals(ticks: &[f64]) -> usize {
    let step = match ticks {
        [first, second, ..] => (second - first).abs(),
        _ => 1.0,
    };
    let digits = (-libm::log10(step) - 1e-9).ceil();
    if digits.is_finite() {
        digits.clamp(0.0, 9.0) as usize
    } else {
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_reach_around_the_range() {
        assert_eq!(ticks(0.0, 6.0, 6.0), [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
        assert_eq!(
            ticks(-40.0, 5.0, 5.0),
            [-40.0, -30.0, -20.0, -10.0, 0.0, 10.0]
        );
        assert_eq!(ticks(0.0, 0.0, 2.0), [-0.5, 0.0, 0.5]);
        assert_eq!(decimals(&ticks(1.1, 2.9, 5.0)), 1);
        assert_eq!(decimals(&ticks(0.0, 6.0, 6.0)), 0);
    }

    #[test]
    fn numbers_beyond_reason_give_finite_ticks() {
        for (least, most) in [
            (-1e308, 1e308),
            (1e-320, 2e-320),
            (1e300, 1e300),
            (-5.0, -5.0),
        ] {
            let ticks = ticks(least, most, 5.0);
            assert!(ticks.len() > 1 && ticks.len() < 110, "{least} {most}");
        }
        let scale = Scale::new(-1e308, 1e308, (0.0, 100.0));
        assert_eq!(scale.place(0.0), 50.0);
    }
}
