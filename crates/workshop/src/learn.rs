pub struct Advice;
pub fn advice_for() {}
pub fn history_of() {}
