//! Use cases: workshops held in memory, append and retry, the registry of calculations.
