use serde_json::{Value, json};

/// Adds what is said on standard error to what a command tells machines, as `remarks`; a list has no room for it and stays as it is.
#[must_use]
pub fn with_remarks(mut told: Value, remarks: &[String]) -> Value {
    if let Some(told) = told.as_object_mut() {
        told.insert("remarks".to_owned(), json!(remarks));
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_beside_stands_in_an_object_and_never_in_a_list() {
        let said = ["two channels play".to_owned()];
        assert_eq!(with_remarks(json!({"of": 9}), &said), json!({"of": 9, "remarks": ["two channels play"]}));
        assert_eq!(with_remarks(json!({"of": 9}), &[]), json!({"of": 9, "remarks": []}));
        assert_eq!(with_remarks(json!([1]), &said), json!([1]));
    }
}
