//! A shape as a dialect file.

use super::Shape;
use std::fmt::Write as _;

impl Shape {
    fn named(&self, element: &str, kind: &str) -> (String, String) {
        match self.names {
            0 => (
                format!(
                    "[element.{element}.attributes]\nid = {{ type = \"name\", of = \"{kind}\", required = true }}\n"
                ),
                "@id".into(),
            ),
            _ => (
                format!(
                    "[element.\"{element}/id\"]\ntext = {{ type = \"name\", of = \"{kind}\", required = true }}\n"
                ),
                "id".into(),
            ),
        }
    }

    fn id_child(&self) -> &'static str {
        if self.names == 0 { "" } else { "\"id\", " }
    }

    /// A control in the animation it plays names it by standing in it.
    pub(super) fn is_inside(&self) -> bool {
        self.control_home == 1
    }

    pub(super) fn dialect(&self) -> String {
        let mut toml = String::from("[dialect]\nname = \"shape\"\nformat = 1\n");
        if self.units {
            toml.push_str("[units]\ntime = \"ms\"\nlength = \"cm\"\n");
        }
        if self.paths == 1 {
            toml.push_str(
                "[notation.index-path]\nroot-mark = \"^\"\nseparator = \"-\"\nfirst = 1\n",
            );
        }
        toml.push_str("[[document]]\nname = \"rig\"\nroot = \"rig\"\nfiles = \"*.rig.xml\"\n");
        if self.namespace > 0 {
            toml.push_str("namespace = \"urn:shape\"\n");
        }
        toml.push_str("[inputs]\nanalog = [\"a1\", \"a2\"]\ndigital = [\"d1\", \"d2\"]\n");
        let order = if self.listed {
            "order = \"listed\"\n"
        } else {
            ""
        };
        let hands = if self.is_inside() { "" } else { ", \"hands?\"" };
        let _ = writeln!(
            toml,
            "[element.\"/rig\"]\n{order}children = [\"aliases?\", \"rolls?\", \"sounds?\", \"acts?\"{hands}]\nattributes.scene = {{ type = \"file\", required = true }}\n[[role.scene]]\nat = \"rig\"\nfile = \"@scene\""
        );
        toml.push_str("[element.aliases]\nchildren = [\"alias*\"]\n[element.alias.attributes]\npath = { type = \"index-path\", required = true }\nname = { type = \"name\", of = \"alias\", required = true }\n[[role.alias]]\nat = \"rig/aliases/alias\"\nname = \"@name\"\npath = \"@path\"\n");
        self.wheels_and_sounds(&mut toml);
        self.animations(&mut toml);
        self.controls(&mut toml);
        toml
    }

    fn wheels_and_sounds(&self, toml: &mut String) {
        let (declared, path) = self.named("roll", "wheel");
        let _ = writeln!(
            toml,
            "[element.rolls]\nchildren = [\"roll*\"]\n[element.roll]\nchildren = [{}]\n{declared}[element.roll.attributes.at]\ntype = \"node\"\nrequired = true\n[[role.wheel]]\nat = \"rig/rolls/roll\"\nname = \"{path}\"\nnode = \"@at\"",
            self.id_child()
        );
        let (declared, path) = self.named("sound", "sound");
        let _ = writeln!(
            toml,
            "[element.sounds]\nchildren = [\"sound*\"]\n[element.sound]\nchildren = [{}]\n{declared}[[role.sound]]\nat = \"rig/sounds/sound\"\nname = \"{path}\"",
            self.id_child()
        );
    }

    fn animations(&self, toml: &mut String) {
        let (declared, path) = self.named("act", "act");
        let hand = match (self.is_inside(), self.kinds) {
            (true, 0) => ", \"hand?\", \"knob?\"",
            (true, _) => ", \"hand?\"",
            _ => "",
        };
        let holds = if self.times == 4 {
            "\"group*\""
        } else {
            "\"go*\""
        };
        let order = if self.listed {
            "order = \"listed\"\n"
        } else {
            ""
        };
        let lasts = if self.duration == 2 {
            "\"lasts?\", "
        } else {
            ""
        };
        let _ = write!(
            toml,
            "[element.acts]\nchildren = [\"act*\"]\n[element.act]\n{order}children = [{}{lasts}{holds}{hand}]\n{declared}",
            self.id_child()
        );
        match self.duration {
            1 => toml.push_str("[element.act.attributes.lasts]\ntype = \"number\"\n"),
            2 => toml.push_str("[element.lasts]\ntext = { type = \"number\", required = true }\n"),
            3 => toml
                .push_str("[element.act.attributes.lasts]\ntype = \"number\"\nrequired = true\n"),
            _ => {}
        }
        let _ = writeln!(
            toml,
            "[[role.animation]]\nat = \"rig/acts/act\"\nname = \"{path}\""
        );
        match self.duration {
            1 | 3 => toml.push_str("duration = \"@lasts\"\n"),
            2 => toml.push_str("duration = \"lasts\"\n"),
            _ => {}
        }
        let mut children: Vec<&str> = Vec::new();
        if self.times == 3 {
            children.push("\"span\"");
        }
        match self.ends {
            2 | 7 => children.extend(["\"from\"", "\"to\""]),
            3 => children.push("\"ends\""),
            8 | 9 => children.push("\"key+\""),
            _ => {}
        }
        let _ = writeln!(
            toml,
            "[element.go]\nchildren = [{}]\n[element.go.attributes]\nnode = {{ type = \"node\", required = true }}",
            children.join(", ")
        );
        match self.times {
            0 => toml.push_str("t0 = { type = \"number\", required = true }\nt1 = { type = \"number\", required = true }\n"),
            1 => toml.push_str("span = { type = \"number\", list = { separator = \"..\", min = 2, max = 2 }, required = true }\n"),
            2 => toml.push_str("span = { type = \"number\", list = { separator = \" \", min = 2, max = 2 }, required = true }\n"),
            _ => {}
        }
        match self.ends {
            0 => toml.push_str("from = { type = \"moved-value\", required = true }\nto = { type = \"moved-value\", required = true }\n"),
            1 => toml.push_str("ends = { type = \"moved-value\", list = { separator = \"|\", min = 2, max = 2 }, required = true }\n"),
            4 => toml.push_str("by = { type = \"moved-value\", required = true }\n"),
            5 => toml.push_str("to = { type = \"moved-value\", required = true }\n"),
            6 => toml.push_str("x0 = \"number\"\nx1 = \"number\"\ny0 = \"number\"\ny1 = \"number\"\n"),
            _ => {}
        }
        match self.property {
            0 => toml.push_str("what = { type = \"word\", words = [\"place\", \"turn\"], required = true }\n"),
            1 => toml.push_str("what = { type = \"word\", words = [\"place\", \"turn\"], required = true, default = \"place\" }\n"),
            _ => {}
        }
        match self.times {
            3 => toml.push_str("[element.span]\ntext = { type = \"number\", list = { separator = \"..\", min = 2, max = 2 }, required = true }\n"),
            4 => toml.push_str("[element.group]\nchildren = [\"go*\"]\n[element.group.attributes]\nspan = { type = \"number\", list = { separator = \"..\", min = 2, max = 2 }, required = true }\n"),
            _ => {}
        }
        match self.ends {
            2 => toml.push_str("[element.from]\ntext = { type = \"moved-value\", required = true }\n[element.to]\ntext = { type = \"moved-value\", required = true }\n"),
            3 => toml.push_str("[element.ends]\ntext = { type = \"moved-value\", list = { separator = \"|\", min = 2, max = 2 }, required = true }\n"),
            7 => toml.push_str("[element.from]\nchildren = [\"x\", \"y\"]\n[element.to]\nchildren = [\"x\", \"y\"]\n[element.x]\ntext = \"number\"\n[element.y]\ntext = \"number\"\n"),
            8 => toml.push_str("[element.key]\ntext = { type = \"moved-value\", required = true }\n[element.key.attributes]\nt = { type = \"number\", required = true }\n"),
            9 => toml.push_str("[element.key]\nattributes = { t = \"number\", x = \"number\", y = \"number\" }\n"),
            _ => {}
        }
        let at = if self.times == 4 { "group/go" } else { "go" };
        let _ = writeln!(toml, "[[role.channel]]\nat = \"{at}\"\nnode = \"@node\"");
        toml.push_str(match self.times {
            0 => "begin = \"@t0\"\nend = \"@t1\"\n",
            1 | 2 => "window = \"@span\"\n",
            3 => "window = \"span\"\n",
            4 => "window = \"../@span\"\n",
            _ => "",
        });
        toml.push_str("[[role.channel.motion]]\n");
        toml.push_str(match self.property {
            0 | 1 => {
                "property = { at = \"@what\", translation = \"place\", rotation = \"turn\" }\n"
            }
            _ => "property = \"translation\"\n",
        });
        toml.push_str(match self.ends {
            0 => "from = \"@from\"\nto = \"@to\"\n",
            1 => "ends = \"@ends\"\n",
            2 => "from = \"from\"\nto = \"to\"\n",
            3 => "ends = \"ends\"\n",
            4 => "by = \"@by\"\n",
            5 => "to = \"@to\"\n",
            6 => "from = { x = \"@x0\", y = \"@y0\" }\nto = { x = \"@x1\", y = \"@y1\" }\n",
            7 => "from = { x = \"from/x\", y = \"from/y\" }\nto = { x = \"to/x\", y = \"to/y\" }\n",
            8 => "keyframes = { at = \"key\", time = \"@t\", value = \".\" }\n",
            _ => {
                "keyframes = { at = \"key\", time = \"@t\", value = { x = \"@x\", y = \"@y\" } }\n"
            }
        });
    }

    fn controls(&self, toml: &mut String) {
        if !self.is_inside() {
            let knobs = if self.kinds == 0 { ", \"knob*\"" } else { "" };
            let _ = writeln!(toml, "[element.hands]\nchildren = [\"hand*\"{knobs}]");
        }
        let elements: &[&str] = if self.kinds == 0 {
            &["hand", "knob"]
        } else {
            &["hand"]
        };
        for element in elements {
            let _ = writeln!(toml, "[element.{element}]");
            if self.listed {
                toml.push_str("order = \"listed\"\n");
            }
            let wheels = match self.wheels {
                0 => "\"carry*\", ",
                1 => "\"carries?\", ",
                2 => "\"load?\", ",
                _ => "",
            };
            let sounds = if self.sounds == 1 { "\"cue*\", " } else { "" };
            let played = if self.played_by == 2 && !self.is_inside() {
                "\"plays\", "
            } else {
                ""
            };
            let _ = writeln!(
                toml,
                "children = [{played}{wheels}{sounds}]\n[element.{element}.attributes]\ninput = {{ type = \"input\", required = true }}\ngain = {{ type = \"number\", usual = \"0.5\" }}"
            );
            if self.kinds == 1 {
                toml.push_str(
                    "kind = { type = \"word\", words = [\"axis\", \"key\"], required = true }\n",
                );
            }
            if !self.is_inside() {
                match self.played_by {
                    0 => toml.push_str(
                        "act = { type = \"reference\", of = \"act\", required = true }\n",
                    ),
                    1 => toml.push_str(
                        "act = { type = \"position\", of = \"act\", first = 1, required = true }\n",
                    ),
                    _ => {}
                }
            }
            match self.wheels {
                3 => toml.push_str("rolls = { type = \"reference\", of = \"wheel\", list = { separator = \",\" } }\n"),
                4 => toml.push_str("rolls = { type = \"position\", of = \"wheel\", first = 1, list = { separator = \" \" } }\n"),
                _ => {}
            }
            if self.sounds == 2 {
                toml.push_str("cues = { type = \"reference\", of = \"sound\", list = { separator = \" \" } }\n");
            }
            match self.holder {
                1 => toml
                    .push_str("on = { type = \"node\", accepts = [\"alias\"], required = true }\n"),
                2 => toml.push_str("on = { type = \"index-path\", required = true }\n"),
                _ => {}
            }
        }
        match self.wheels {
            0 => toml.push_str("[element.carry.attributes]\nroll = { type = \"reference\", of = \"wheel\", required = true }\n"),
            1 => toml.push_str("[element.carries]\nchildren = [\"roll*\"]\n[element.\"carries/roll\"]\ntext = { type = \"position\", of = \"wheel\", first = 0, required = true }\n"),
            2 => toml.push_str("[element.load]\ntext = { type = \"reference\", of = \"wheel\", list = { separator = \" \", min = 1 }, required = true }\n"),
            _ => {}
        }
        if self.sounds == 1 {
            toml.push_str(
                "[element.cue]\ntext = { type = \"reference\", of = \"sound\", required = true }\n",
            );
        }
        if self.played_by == 2 && !self.is_inside() {
            toml.push_str(
                "[element.plays]\ntext = { type = \"reference\", of = \"act\", required = true }\n",
            );
        }
        for (element, kind) in [("hand", "analog"), ("knob", "digital")] {
            if self.kinds == 1 && element == "knob" {
                continue;
            }
            let home = if self.is_inside() {
                "rig/acts/act"
            } else {
                "rig/hands"
            };
            let _ = writeln!(
                toml,
                "[[role.control]]\nat = \"{home}/{element}\"\ninput = \"@input\"\ngain = \"@gain\""
            );
            match self.kinds {
                0 => drop(writeln!(toml, "kind = \"{kind}\"")),
                _ => toml
                    .push_str("kind = { at = \"@kind\", analog = \"axis\", digital = \"key\" }\n"),
            }
            let name = if self.names == 0 { "../@id" } else { "../id" };
            let _ = match (self.is_inside(), self.played_by) {
                (true, _) => writeln!(toml, "animation = \"{name}\""),
                (false, 2) => writeln!(toml, "animation = \"plays\""),
                (false, _) => writeln!(toml, "animation = \"@act\""),
            };
            toml.push_str(match self.wheels {
                0 => "wheels = \"carry/@roll\"\n",
                1 => "wheels = \"carries/roll\"\n",
                2 => "wheels = \"load\"\n",
                3 | 4 => "wheels = \"@rolls\"\n",
                _ => "",
            });
            toml.push_str(match self.sounds {
                1 => "sounds = \"cue\"\n",
                2 => "sounds = \"@cues\"\n",
                _ => "",
            });
            if self.holder > 0 {
                toml.push_str("node = \"@on\"\n");
            }
        }
    }
}
