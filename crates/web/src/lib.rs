//! The pages of the workshop and the programming interface.
//!
//! A handler reads the request, calls one use case of [`app`], renders one
//! page. No rule, sum or rounding stands here. Everything works as plain links
//! and forms; the one script only improves: answers follow what is typed,
//! timers run, the screen stays on. A post ends in a redirect, or in the same
//! page again with the problems beside their boxes.
//!
//! This crate refuses to know where the journal is kept and how an answer is
//! computed. Start with [`router`].

mod api;
mod assets;
mod layout;
mod once;
mod pages;
mod parts;
mod site;

pub use site::{Doors, router};
