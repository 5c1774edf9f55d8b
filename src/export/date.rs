//! Calendar dates of file stamps.

/// A moment in UTC: year, month, day, hour, minute, second.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Moment {
    pub(super) year: u64,
    pub(super) month: u64,
    pub(super) day: u64,
    pub(super) hour: u64,
    pub(super) minute: u64,
    pub(super) second: u64,
}

/// The moment `timestamp` seconds after 1970-01-01 00:00 UTC, in the Gregorian calendar.
pub(super) fn moment(timestamp: u64) -> Moment {
    let (days, seconds) = (timestamp / 86_400, timestamp % 86_400);
    // Counted in eras of 400 years from 0000-03-01, so that the leap day is the last of its year.
    let shifted = days + 719_468;
    let (era, of_era) = (shifted / 146_097, shifted % 146_097);
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * of_year + 2) / 153;
    let day = of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 { march_month + 3 } else { march_month - 9 };
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    Moment { year, month, day, hour: seconds / 3_600, minute: seconds / 60 % 60, second: seconds % 60 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(timestamp: u64) -> (u64, u64, u64) {
        let m = moment(timestamp);
        (m.year, m.month, m.day)
    }

    #[test]
    fn known_days() {
        assert_eq!(day(0), (1970, 1, 1));
        assert_eq!(day(951_782_400), (2000, 2, 29));
        assert_eq!(day(951_868_800), (2000, 3, 1));
        assert_eq!(day(4_107_542_400), (2100, 3, 1));
        let m = moment(1_700_000_000);
        assert_eq!((m.year, m.month, m.day, m.hour, m.minute, m.second), (2023, 11, 14, 22, 13, 20));
    }
}
