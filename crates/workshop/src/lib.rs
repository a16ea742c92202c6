//! The facts of a workshop, the state folded from them, the decisions that allow a new fact.
