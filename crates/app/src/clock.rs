//! Where the time comes from.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

/// Tells the time. The only way it enters the program.
pub trait Clock: Send + Sync {
    /// The instant.
    fn now(&self) -> Timestamp;
    /// The day on the workshop's calendar.
    fn today(&self) -> Date;
}

/// The machine's clock and time zone.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> Timestamp {
        Timestamp::now()
    }

    fn today(&self) -> Date {
        ZonedDateTime::now().date()
    }
}

/// A clock that stands still, for tests and for the demo's past.
#[derive(Debug, Clone, Copy)]
pub struct FixedClock(pub Date);

impl Clock for FixedClock {
    fn now(&self) -> Timestamp {
        // Noon, so that no time zone turns it into another day.
        self.0
            .at(12, 0, 0, 0)
            .to_zoned_datetime(TimeZone::UTC)
            .map_or(Timestamp::UNIX_EPOCH, |noon| noon.timestamp())
    }

    fn today(&self) -> Date {
        self.0
    }
}
