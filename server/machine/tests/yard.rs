//! Reading definitions in the yard dialect, where values stand in elements.

use dialect::Dialect;

#[test]
fn an_alias_whose_name_is_an_element_leads_to_its_path() {
    let yard = include_str!("../../../corpus/dialects/yard/yard.dialect.toml");
    let dialect = Dialect::read(yard, None).unwrap();
    let tree = syntax::parse(
        "<rig><handles><handle><call>mast</call><spot>#1:2</spot></handle></handles>
        <rollers><roller><spot>mast</spot></roller></rollers></rig>",
    );
    let kind = dialect.document_for(None, "a.rig.xml").unwrap();
    let machine = machine::read(&tree, &dialect, kind);
    let node = machine.wheels[0].node.as_ref().unwrap();
    assert_eq!(machine.path_of(node), Some(&[0, 1][..]));
}
