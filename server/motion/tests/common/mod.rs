//! Shared by the tests of this crate.
#![allow(unreachable_pub)]

use dialect::Dialect;
use machine::Machine;

const NAMESPACE: &str = "urn:trunnion:machine:1";

/// A machine of the house dialect with these sections.
pub fn machine_with(sections: &str) -> Machine {
    let text =
        format!(r#"<machine xmlns="{NAMESPACE}" id="rig" scene="rig.gltf">{sections}</machine>"#);
    let dialect = Dialect::house();
    let kind = dialect
        .document_for(Some((Some(NAMESPACE), "machine")), "rig.machine.xml")
        .unwrap();
    machine::read(&syntax::parse(&text), &dialect, kind)
}
