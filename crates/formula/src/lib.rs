//! Blends, fragrance load of wax or of total, weigh-out and live re-scaling.
