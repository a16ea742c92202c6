//! Where the labels of several runs stand.

use super::{Drift, Sheet};

/// One label of a run on its page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// The page, from 0.
    pub page: u64,
    /// The column, from 0 at the left.
    pub column: u32,
    /// The row, from 0 at the top.
    pub row: u32,
    /// Where the label's left edge is to be drawn so that it lands in its cell.
    pub x_mm: f64,
    /// Where its top edge is to be drawn.
    pub y_mm: f64,
    /// Which run it belongs to, from 0.
    pub run: usize,
    /// Which of that run it is, from 0.
    pub nth: u32,
}

/// The places of several runs, one after the other.
#[derive(Debug, Clone)]
pub struct Places<'a> {
    sheet: Sheet,
    runs: &'a [u32],
    drift: Drift,
    /// The next cell, counted through all pages.
    cell: u64,
    run: usize,
    nth: u32,
}

impl<'a> Places<'a> {
    pub(super) fn new(sheet: Sheet, runs: &'a [u32], start: u32, drift: Drift) -> Self {
        let first = start.clamp(1, sheet.per_page().max(1)) - 1;
        Self {
            sheet,
            runs,
            drift,
            cell: u64::from(first),
            run: 0,
            nth: 0,
        }
    }
}

impl Iterator for Places<'_> {
    type Item = Place;

    fn next(&mut self) -> Option<Place> {
        while *self.runs.get(self.run)? <= self.nth {
            self.run += 1;
            self.nth = 0;
        }
        let per_page = u64::from(self.sheet.per_page().max(1));
        let columns = u64::from(self.sheet.columns.max(1));
        let on_page = self.cell % per_page;
        let small = |n: u64| u32::try_from(n).unwrap_or(u32::MAX);
        let (column, row) = (small(on_page % columns), small(on_page / columns));
        let (x, y) = self.sheet.cell_mm(column, row);
        // The middle lands in the middle, whatever the printer's scale.
        let (half_x, half_y) = (
            self.sheet.label_width_mm / 2.0,
            self.sheet.label_height_mm / 2.0,
        );
        let (middle_x, middle_y) = self.drift.aim(x + half_x, y + half_y);
        let place = Place {
            page: self.cell / per_page,
            column,
            row,
            x_mm: middle_x - half_x,
            y_mm: middle_y - half_y,
            run: self.run,
            nth: self.nth,
        };
        self.cell += 1;
        self.nth += 1;
        Some(place)
    }
}
