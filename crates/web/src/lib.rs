//! Pages and the JSON API.
