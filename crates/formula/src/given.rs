//! A count or a number in an input: written as text or as a JSON number.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, de};

/// A number as it was given, kept as text until it is read together with
/// everything else, so that what is wrong with it is reported in its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Given(pub String);

impl Given {
    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl From<&str> for Given {
    fn from(text: &str) -> Self {
        Self(text.to_owned())
    }
}

impl<'de> Deserialize<'de> for Given {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Any;
        impl de::Visitor<'_> for Any {
            type Value = Given;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a number, as text or as it is")
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Given, E> {
                Ok(Given(text.to_owned()))
            }
            fn visit_u64<E: de::Error>(self, number: u64) -> Result<Given, E> {
                Ok(Given(number.to_string()))
            }
            fn visit_i64<E: de::Error>(self, number: i64) -> Result<Given, E> {
                Ok(Given(number.to_string()))
            }
            fn visit_f64<E: de::Error>(self, number: f64) -> Result<Given, E> {
                Ok(Given(number.to_string()))
            }
        }
        deserializer.deserialize_any(Any)
    }
}

impl JsonSchema for Given {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "number".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": ["string", "number"] })
    }
}
