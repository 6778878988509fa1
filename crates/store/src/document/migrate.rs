//! Old formats carried forward, one major number at a time.

use super::FORMAT_MAJOR;
use serde_json::Value;

/// A step from one major number to the next, on the whole file. The error says what it could not do.
pub(crate) type Migration = fn(&mut Value) -> Result<(), String>;

/// The steps: the first carries format 1 to 2, and so on. Format 1 is the first and the current one.
pub(crate) const STEPS: [Migration; FORMAT_MAJOR as usize - 1] = [];

/// Carries a file from format `major` through all `steps` that follow, and writes the number reached into it.
pub(crate) fn migrate(file: &mut Value, major: u32, steps: &[Migration]) -> Result<(), String> {
    let first = (major as usize)
        .checked_sub(1)
        .ok_or_else(|| format!("there never was a format {major}"))?;
    for step in steps.iter().skip(first) {
        step(file)?;
    }
    file["format"]["major"] = Value::from(steps.len() + 1);
    file["format"]["minor"] = Value::from(0);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn rename(file: &mut Value) -> Result<(), String> {
        let value = file["project"]
            .as_object_mut()
            .and_then(|project| project.remove("plants"))
            .ok_or("there are no plants")?;
        file["project"]["genotypes"] = value;
        Ok(())
    }

    fn count(file: &mut Value) -> Result<(), String> {
        let plants = file["project"]["genotypes"].as_array();
        let plants = plants.ok_or("there are no plants")?.len();
        file["count"] = plants.into();
        Ok(())
    }

    #[test]
    fn each_format_goes_through_every_later_step_in_order() {
        let steps: [Migration; 2] = [rename, count];
        let mut first = json!({"format": {"major": 1, "minor": 4}, "project": {"plants": [1, 2]}});
        migrate(&mut first, 1, &steps).unwrap();
        assert_eq!(
            first,
            json!({"format": {"major": 3, "minor": 0}, "project": {"genotypes": [1, 2]}, "count": 2})
        );
        let mut second = json!({"format": {"major": 2, "minor": 0}, "project": {"genotypes": []}});
        migrate(&mut second, 2, &steps).unwrap();
        assert_eq!(second["count"], 0);
    }

    #[test]
    fn a_step_that_fails_says_why() {
        let mut file = json!({"format": {"major": 1, "minor": 0}, "project": {}});
        let failed = migrate(&mut file, 1, &[rename]).unwrap_err();
        assert_eq!(failed, "there are no plants");
    }

    #[test]
    fn format_zero_is_refused() {
        assert!(migrate(&mut json!({"format": {}}), 0, &STEPS).is_err());
    }
}
