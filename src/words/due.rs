//! How long a calibration is still valid.

use quantity::Wall;

const DAY_US: i64 = 86_400_000_000;

/// How many days before its date a calibration is mentioned.
const SOON_DAYS: i64 = 30;

/// The remark about a calibration.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Calibration {
    /// Its date is this many days past; verdicts are withheld.
    Past(i64),
    /// Its date is this many days ahead, at most 30; 0 on the day itself.
    Soon(i64),
}

impl Calibration {
    /// The remark, at a moment, about a calibration that no longer counts from `due` on, the end of the day
    /// of its date; `None` while that date is more than 30 days ahead.
    #[must_use]
    pub const fn at(due: Wall, now: Wall) -> Option<Self> {
        let left = due.micros().saturating_sub(now.micros());
        if left <= 0 {
            return Some(Self::Past(left.saturating_neg() / DAY_US + 1));
        }
        let days = (left - 1) / DAY_US;
        if days <= SOON_DAYS { Some(Self::Soon(days)) } else { None }
    }

    /// `is 28 days past its calibration date`, `is due for calibration in 12 days`.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Past(1) => "is 1 day past its calibration date".to_owned(),
            Self::Past(days) => format!("is {days} days past its calibration date"),
            Self::Soon(0) => "is due for calibration today".to_owned(),
            Self::Soon(1) => "is due for calibration tomorrow".to_owned(),
            Self::Soon(days) => format!("is due for calibration in {days} days"),
        }
    }
}
