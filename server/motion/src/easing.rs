//! How a motion passes through its window.

use dialect::Easing;

/// How much of a window has passed, from 0 to 1. A window that does not last is passed at once.
pub fn progress(begin: f64, end: f64, time: f64) -> f64 {
    if end > begin {
        ((time - begin) / (end - begin)).clamp(0.0, 1.0)
    } else if time >= begin {
        1.0
    } else {
        0.0
    }
}

/// How much of the way lies behind when `progress` (0 to 1) of the time has passed. Smooth is 3t² − 2t³, the
/// cubic that starts and ends at rest.
pub(crate) fn eased(easing: Easing, progress: f64) -> f64 {
    match easing {
        Easing::Linear => progress,
        Easing::Step if progress < 1.0 => 0.0,
        Easing::Step => 1.0,
        Easing::Smooth => progress * progress * (3.0 - 2.0 * progress),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_before_and_after_the_window_is_held() {
        assert_eq!(progress(2.0, 4.0, 1.0), 0.0);
        assert_eq!(progress(2.0, 4.0, 3.0), 0.5);
        assert_eq!(progress(2.0, 4.0, 9.0), 1.0);
    }

    #[test]
    fn a_window_that_does_not_last_is_a_jump() {
        assert_eq!(progress(2.0, 2.0, 1.9), 0.0);
        assert_eq!(progress(2.0, 2.0, 2.0), 1.0);
        assert_eq!(progress(2.0, 1.0, 2.0), 1.0);
    }

    #[test]
    fn every_easing_begins_at_0_and_ends_at_1() {
        for easing in [Easing::Linear, Easing::Step, Easing::Smooth] {
            assert_eq!((eased(easing, 0.0), eased(easing, 1.0)), (0.0, 1.0));
        }
    }

    #[test]
    fn smooth_is_slow_at_both_ends() {
        assert_eq!(eased(Easing::Smooth, 0.5), 0.5);
        assert!((eased(Easing::Smooth, 0.1) - 0.028).abs() < 1e-12);
        assert!((eased(Easing::Smooth, 0.9) - 0.972).abs() < 1e-12);
    }

    #[test]
    fn step_waits_for_the_end() {
        assert_eq!(eased(Easing::Step, 0.999), 0.0);
    }
}
