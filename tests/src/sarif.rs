//! SARIF logs against the schema of OASIS (sarif-schema-2.1.0.json), by Python's `jsonschema`.

use std::process::Command;

use crate::outside;

const SCRIPT: &str = "import json, sys, jsonschema\n\
    schema = json.load(open(sys.argv[1]))\n\
    validator = jsonschema.validators.validator_for(schema)(schema, format_checker=jsonschema.FormatChecker())\n\
    errors = [error.json_path + ': ' + error.message[:300] for error in validator.iter_errors(json.load(sys.stdin))]\n\
    print('\\n'.join(errors[:20]))";

/// # Panics
/// The log is not valid. Where schema or validator are not there, it says that nothing was looked at.
pub fn assert_valid(log: &str) {
    let schema = outside::references("sarif").map(|folder| folder.join("sarif-schema-2.1.0.json"));
    let Some(schema) = schema else {
        return outside::skipped("SARIF against its schema", "the schema is not here");
    };
    let Some(python) = outside::python_with("jsonschema") else {
        return outside::skipped(
            "SARIF against its schema",
            "Python's jsonschema is not installed",
        );
    };
    let mut validator = Command::new(python);
    let errors = outside::run(validator.args(["-c", SCRIPT]).arg(schema), log);
    assert_eq!(
        errors.map(|errors| errors.trim().to_owned()),
        Ok(String::new())
    );
}
