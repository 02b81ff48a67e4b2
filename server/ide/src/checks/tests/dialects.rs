//! Documents that several dialects fit.

use expect_test::expect;

use super::*;

fn dialect(name: &str, document: &str) -> Arc<Dialect> {
    let toml = format!(
        "[dialect]\nname = \"{name}\"\nformat = 1\n[[document]]\nname = \"rig\"\nroot = \"rig\"\n{document}\n\
         [element.rig]\nopen = true\n"
    );
    Arc::new(Dialect::read(&toml, Some(format!("/mod/{name}.toml").into())).unwrap())
}

fn told(text: &str, dialects: Vec<Arc<Dialect>>) -> String {
    said(&Fixture::of(text, dialects).at("a.xml"))
}

#[test]
fn the_first_of_two_that_fit_alike_counts_and_that_is_said() {
    let both = vec![dialect("quay", ""), dialect("yard", "")];
    expect![[r#"
        information two-dialects at `rig`: This file is read by the dialect `quay` (/mod/quay.toml), because that comes first; `yard` (/mod/yard.toml) fits as well. Put the one that you mean first in `dialects` in trunnion.toml, and take the other one out.
    "#]].assert_eq(&told("<rig/>", both));
}

#[test]
fn one_that_fits_better_has_no_rival() {
    let marked = "root-attributes = { kind = \"yard\" }";
    for better in ["files = \"*.xml\"", marked] {
        for both in [
            vec![dialect("quay", ""), dialect("yard", better)],
            vec![dialect("yard", better), dialect("quay", "")],
        ] {
            let found = told("<rig kind=\"yard\"/>", both);
            assert!(!found.contains("two-dialects"), "{better}: {found}");
        }
    }
}

#[test]
fn the_built_in_dialect_and_the_same_file_twice_are_no_rivals() {
    let quay = dialect("quay", "");
    assert!(!told("<rig/>", vec![quay.clone(), quay]).contains("two-dialects"));
    let house = include_str!("../../../../dialect/src/house.dialect.toml");
    let own = Dialect::read(house, Some("/mod/own.toml".into())).unwrap();
    let both = vec![Arc::new(own), Dialect::house()];
    let found = told("<machine xmlns=\"urn:trunnion:machine:1\"/>", both);
    assert!(!found.contains("two-dialects"), "{found}");
}
