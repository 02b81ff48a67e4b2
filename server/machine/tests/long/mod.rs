//! A machine that is cut into many portions.

/// Long enough that animations, controls and lists are cut up.
pub(crate) fn long_machine(groups: usize) -> String {
    let each = |line: &dyn Fn(usize) -> String| (0..groups).map(line).collect::<String>();
    let aliases = each(&|n| format!("    <alias name=\"part{n}\" path=\"{n}/0\"/>\n"));
    let wheels = each(&|n| {
        format!("    <wheel id=\"wheel{n}\" node=\"{n}/0/0\" radius=\"0.5\" width=\"0.3\"/>\n")
    });
    let channels = each(&|n| {
        format!(
            "      <channel target=\"part{n}\" property=\"translation\" begin=\"0\" end=\"2\" from=\"0 0 0\" to=\"{n} 0 0\"/>\n"
        )
    });
    let carries = each(&|n| format!("      <carry wheel=\"wheel{n}\"/>\n"));
    format!(
        "<machine xmlns=\"urn:trunnion:machine:1\" id=\"long\" scene=\"long.gltf\">\n  <aliases>\n{aliases}  </aliases>\n  <wheels>\n{wheels}  </wheels>\n  \
         <animations>\n    <animation id=\"small\" duration=\"1\">\n      <channel target=\"part0\" property=\"rotation\" begin=\"0\" end=\"1\" from=\"0 0 0\" to=\"1 0 0\"/>\n    </animation>\n    \
         <animation id=\"big\" duration=\"4\">\n{channels}    </animation>\n  </animations>\n  <controls>\n    <lever animation=\"big\" input=\"pointer.x\">\n{carries}    </lever>\n  </controls>\n</machine>\n"
    )
}
