//! Values out of a JSON file; an error says where, and what was wanted.

use serde_json::Value;

/// What is wrong with a file.
pub type Problem = String;

/// A member of an object.
pub fn member<'a>(of: &'a Value, name: &str) -> Result<&'a Value, Problem> {
    of.get(name).ok_or_else(|| format!("`{name}` is not there"))
}

/// A member that is a list.
pub fn list<'a>(of: &'a Value, name: &str) -> Result<&'a Vec<Value>, Problem> {
    member(of, name)?.as_array().ok_or_else(|| format!("`{name}` is not a list"))
}

/// A member that is a text.
pub fn text<'a>(of: &'a Value, name: &str) -> Result<&'a str, Problem> {
    member(of, name)?.as_str().ok_or_else(|| format!("`{name}` is not a text"))
}

/// A member that is a number, between two others.
pub fn number(of: &Value, name: &str, least: f64, most: f64) -> Result<f64, Problem> {
    let value = member(of, name)?;
    match value.as_f64().filter(|number| (least..=most).contains(number)) {
        Some(number) => Ok(number),
        None => Err(format!("`{name}` is {value}, and a number from {least} to {most} is wanted")),
    }
}

/// A member that is a whole number of a byte at most.
pub fn byte(of: &Value, name: &str, least: u8, most: u8) -> Result<u8, Problem> {
    Ok(number(of, name, least.into(), most.into())?.round() as u8)
}

/// A text that may not be there.
pub fn maybe_text<'a>(of: &'a Value, name: &str) -> Option<&'a str> {
    of.get(name).and_then(Value::as_str)
}

/// A yes or no; no where it is not there.
pub fn flag(of: &Value, name: &str) -> bool {
    of.get(name).and_then(Value::as_bool).unwrap_or(false)
}
