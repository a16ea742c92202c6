//! Unit weight and loss learned from pours, and how much to melt.
