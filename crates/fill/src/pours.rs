//! Pours as they were made: what went in, what came out, what was left.

/// Units put on the scale together, and what it read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighing {
    /// How many full units lay on the pan.
    pub units: u32,
    /// What they weighed together, net, g.
    pub grams: f64,
}

impl Weighing {
    /// Returns the weighing of one unit.
    pub const fn one(grams: f64) -> Self {
        Self { units: 1, grams }
    }
}

/// What is known of a unit that was begun and not filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Part {
    /// Nothing was said. When cavities stayed empty and nothing was left in
    /// the pitcher, some unknown part of the next unit was filled; otherwise
    /// none was.
    NotSaid,
    /// No unit was begun and not filled.
    Absent,
    /// One was, and nobody knows how far.
    Unknown,
    /// One was filled to about this share of a full one.
    Share(f64),
    /// One was, and this is what it weighed, g.
    Weighed(f64),
}

/// One pour into one kind of mould, as it was recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Pour {
    /// Melt in the pitcher when pouring began, g.
    pub poured: f64,
    /// Melt added to it later, or poured on top, g.
    pub top_ups: Vec<f64>,
    /// Melt left over and kept, g; none if nobody looked.
    pub left: Option<f64>,
    /// Cavities that stood ready.
    pub cavities: u32,
    /// Full units that came out.
    pub filled: u32,
    /// The unit that was not filled.
    pub part: Part,
    /// Full units that were weighed; fewer than came out is fine.
    pub weighings: Vec<Weighing>,
    /// The step of the scale, g.
    pub readability: f64,
}

/// Masses above this (ten tonnes) are slips of the hand, g.
pub(crate) const MOST_GRAMS: f64 = 1e7;
/// Counts above this are slips of the hand.
const MOST_UNITS: u32 = 100_000;

/// What is wrong with an input.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Trouble {
    /// Not a finite number, below zero, or beyond ten tonnes.
    #[error("a mass must be a number from 0 g to 10,000 kg")]
    Mass,
    /// Nothing went in.
    #[error("nothing was poured")]
    NothingPoured,
    /// No cavities, or more than a hundred thousand.
    #[error("the number of cavities must lie between 1 and 100,000")]
    Cavities,
    /// More full units than cavities.
    #[error("{filled} units from {cavities} cavities")]
    MoreThanCavities {
        /// Full units stated.
        filled: u32,
        /// Cavities stated.
        cavities: u32,
    },
    /// A part-filled unit where every cavity is full.
    #[error("every cavity was full, so no unit can be part filled")]
    PartBesideFull,
    /// A share outside 0 to 1.
    #[error("a share must lie between 0 and 1")]
    Share,
    /// A weighing of no units or of nothing.
    #[error("a weighing needs at least one unit and a weight above zero")]
    EmptyWeighing,
    /// More units weighed than came out full.
    #[error("{weighed} units weighed, but only {filled} came out full")]
    MoreWeighedThanFilled {
        /// Units weighed.
        weighed: u64,
        /// Full units stated.
        filled: u32,
    },
    /// More left over than went in.
    #[error("more was left than went in")]
    MoreLeftThanPoured,
    /// The goods outweigh what went into them.
    #[error("the units weigh {over:.1} g more than went into them")]
    HeavierThanPoured {
        /// By how much, g.
        over: f64,
    },
    /// An expected loss outside 0 to 1, or a doubt that is not above zero.
    #[error("this assumption is out of range")]
    Assumption,
    /// Neither a pour nor a nominal unit weight says what a unit may weigh.
    #[error("without a nominal unit weight at least one pour is needed")]
    NothingToGoOn,
}

/// Something wrong, and where.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{field}: {trouble}")]
pub struct Fault {
    /// Which pour, counted from 0; none when it is not about one pour.
    pub pour: Option<usize>,
    /// The field, as it is called in [`Pour`] or `Assumptions`, with its index
    /// where it has one.
    pub field: String,
    /// What is wrong with it.
    pub trouble: Trouble,
}

impl Pour {
    /// Returns what went in, g.
    pub fn put_in(&self) -> f64 {
        self.poured + self.top_ups.iter().sum::<f64>()
    }

    /// Returns what went in and did not come back, g.
    pub fn used(&self) -> f64 {
        self.put_in() - self.left.unwrap_or(0.0)
    }

    /// Returns how many units were weighed.
    pub fn weighed_units(&self) -> u64 {
        self.weighings.iter().map(|w| u64::from(w.units)).sum()
    }

    /// Returns what those weighed together, g.
    pub fn weighed_grams(&self) -> f64 {
        self.weighings.iter().map(|w| w.grams).sum()
    }

    /// Returns the part-filled unit with what went unsaid filled in.
    pub fn part_meant(&self) -> Part {
        match self.part {
            Part::NotSaid if self.filled >= self.cavities => Part::Absent,
            Part::NotSaid if self.left.is_some_and(|left| left > 0.0) => Part::Absent,
            Part::NotSaid => Part::Unknown,
            said => said,
        }
    }

    /// Returns everything that is wrong with this pour. `pour` is its place
    /// among the pours.
    pub fn faults(&self, pour: usize) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut fault = |field: String, trouble| {
            faults.push(Fault {
                pour: Some(pour),
                field,
                trouble,
            });
        };
        let sound = |grams: f64| (0.0..=MOST_GRAMS).contains(&grams);

        let mut masses_sound = true;
        let mut check = |field: String, grams: f64| {
            if !sound(grams) {
                masses_sound = false;
                fault(field, Trouble::Mass);
            }
        };
        check("poured".into(), self.poured);
        for (idx, &top_up) in self.top_ups.iter().enumerate() {
            check(format!("top_ups[{idx}]"), top_up);
        }
        check("left".into(), self.left.unwrap_or(0.0));
        check("readability".into(), self.readability);
        if let Part::Weighed(grams) = self.part {
            check("part".into(), grams);
        }
        for (idx, weighing) in self.weighings.iter().enumerate() {
            check(format!("weighings[{idx}]"), weighing.grams);
        }

        for (idx, weighing) in self.weighings.iter().enumerate() {
            if weighing.units == 0 || weighing.grams == 0.0 {
                fault(format!("weighings[{idx}]"), Trouble::EmptyWeighing);
            }
        }
        if !(1..=MOST_UNITS).contains(&self.cavities) {
            fault("cavities".into(), Trouble::Cavities);
        }
        if self.filled > self.cavities {
            let (filled, cavities) = (self.filled, self.cavities);
            fault(
                "filled".into(),
                Trouble::MoreThanCavities { filled, cavities },
            );
        }
        if let Part::Share(share) = self.part
            && !(0.0..=1.0).contains(&share)
        {
            fault("part".into(), Trouble::Share);
        }
        let part_stated = matches!(self.part, Part::Unknown)
            || matches!(self.part, Part::Share(x) | Part::Weighed(x) if x > 0.0);
        if part_stated && self.filled == self.cavities {
            fault("part".into(), Trouble::PartBesideFull);
        }
        let weighed = self.weighed_units();
        if weighed > u64::from(self.filled) {
            let filled = self.filled;
            fault(
                "weighings".into(),
                Trouble::MoreWeighedThanFilled { weighed, filled },
            );
        }
        if !masses_sound {
            return faults;
        }

        if self.put_in() <= 0.0 {
            fault("poured".into(), Trouble::NothingPoured);
        } else if self.used() < 0.0 {
            fault("left".into(), Trouble::MoreLeftThanPoured);
        } else {
            let part = match self.part {
                Part::Weighed(grams) => grams,
                _ => 0.0,
            };
            let over = self.weighed_grams() + part - self.used();
            // Each reading may be half a step off.
            if over > self.readability * self.readings() / 2.0 {
                fault("weighings".into(), Trouble::HeavierThanPoured { over });
            }
        }
        faults
    }

    /// Returns how many readings of the scale the balance of this pour rests on.
    fn readings(&self) -> f64 {
        let part = f64::from(u8::from(matches!(self.part, Part::Weighed(_))));
        self.balance_readings() + self.weighings.len() as f64 + part
    }

    /// Returns how many readings lie behind what was used. Nothing left is a
    /// reading too: the scale may have shown nothing for half a step.
    pub(crate) fn balance_readings(&self) -> f64 {
        let left = f64::from(u8::from(self.left.is_some()));
        1.0 + self.top_ups.len() as f64 + left
    }
}

/// The account of one pour by mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// What went in, g.
    pub put_in: f64,
    /// What came out as full units and a known part of one, g.
    pub in_goods: f64,
    /// What was left over and kept, g.
    pub poured_back: f64,
    /// What is in neither, g. Below zero when the average of a few units
    /// weighed stands for too many.
    pub unaccounted: f64,
    /// The same as a share of what went in.
    pub unaccounted_share: f64,
    /// Whether every full unit was weighed; if not, the average of those that
    /// were stands for the rest.
    pub all_weighed: bool,
    /// Whether what is unaccounted for still holds a part-filled unit.
    pub part_unknown: bool,
}

impl Balance {
    /// Returns the account of a pour, or none when its units were not weighed
    /// or nothing went in.
    pub fn of(pour: &Pour) -> Option<Self> {
        let put_in = pour.put_in();
        let weighed = pour.weighed_units();
        if put_in.is_nan() || put_in <= 0.0 || (weighed == 0 && pour.filled > 0) {
            return None;
        }
        let unit = if weighed == 0 {
            0.0
        } else {
            pour.weighed_grams() / weighed as f64
        };
        let rest = f64::from(pour.filled) - weighed as f64;
        let part = match pour.part_meant() {
            Part::Share(share) => share * unit,
            Part::Weighed(grams) => grams,
            Part::NotSaid | Part::Absent | Part::Unknown => 0.0,
        };
        let in_goods = pour.weighed_grams() + rest * unit + part;
        let poured_back = pour.left.unwrap_or(0.0);
        let unaccounted = put_in - in_goods - poured_back;
        Some(Self {
            put_in,
            in_goods,
            poured_back,
            unaccounted,
            unaccounted_share: unaccounted / put_in,
            all_weighed: rest <= 0.0,
            part_unknown: pour.part_meant() == Part::Unknown,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shells() -> Pour {
        Pour {
            poured: 1842.0,
            top_ups: Vec::new(),
            left: Some(31.0),
            cavities: 24,
            filled: 23,
            part: Part::NotSaid,
            weighings: vec![Weighing {
                units: 23,
                grams: 23.0 * 75.9,
            }],
            readability: 1.0,
        }
    }

    #[test]
    fn planned_24_and_got_23() {
        let balance = Balance::of(&shells()).unwrap();
        assert!((balance.in_goods - 1745.7).abs() < 0.05);
        assert!((balance.unaccounted - 65.3).abs() < 0.05);
        assert!((balance.unaccounted_share - 0.035).abs() < 0.0005);
        assert!(balance.all_weighed && !balance.part_unknown);
    }

    #[test]
    fn a_few_weighed_units_stand_for_the_rest() {
        let pour = Pour {
            weighings: vec![Weighing::one(75.4), Weighing::one(76.4)],
            ..shells()
        };
        let balance = Balance::of(&pour).unwrap();
        assert!((balance.in_goods - 1745.7).abs() < 0.05);
        assert!(!balance.all_weighed);
        let unweighed = Pour {
            weighings: Vec::new(),
            ..shells()
        };
        assert_eq!(Balance::of(&unweighed), None);
    }

    #[test]
    fn what_went_unsaid_about_the_last_unit() {
        let meant = |left, filled, part| {
            Pour {
                left,
                filled,
                part,
                ..shells()
            }
            .part_meant()
        };
        assert_eq!(meant(Some(0.0), 23, Part::NotSaid), Part::Unknown);
        assert_eq!(meant(None, 23, Part::NotSaid), Part::Unknown);
        assert_eq!(meant(Some(31.0), 23, Part::NotSaid), Part::Absent);
        assert_eq!(meant(Some(0.0), 24, Part::NotSaid), Part::Absent);
        assert_eq!(meant(Some(31.0), 23, Part::Unknown), Part::Unknown);
    }

    #[test]
    fn every_fault_of_a_pour_is_found_at_once() {
        let pour = Pour {
            poured: f64::NAN,
            top_ups: vec![-1.0],
            left: Some(f64::INFINITY),
            cavities: 0,
            filled: 3,
            part: Part::Share(1.5),
            weighings: vec![Weighing {
                units: 0,
                grams: 5.0,
            }],
            readability: -1.0,
        };
        let faults = pour.faults(2);
        let fields: Vec<&str> = faults.iter().map(|f| f.field.as_str()).collect();
        assert_eq!(
            fields,
            [
                "poured",
                "top_ups[0]",
                "left",
                "readability",
                "weighings[0]",
                "cavities",
                "filled",
                "part"
            ]
        );
        assert!(faults.iter().all(|f| f.pour == Some(2)));
    }

    #[test]
    fn goods_heavier_than_the_melt_are_refused_beyond_the_scale() {
        let heavier = |grams| Pour {
            left: Some(0.0),
            weighings: vec![Weighing { units: 23, grams }],
            ..shells()
        };
        // Two readings to a gram: one gram over may be rounding.
        assert!(heavier(1843.0).faults(0).is_empty());
        let faults = heavier(1850.0).faults(0);
        assert_eq!(faults[0].trouble, Trouble::HeavierThanPoured { over: 8.0 });
        assert!(shells().faults(0).is_empty());
    }
}
