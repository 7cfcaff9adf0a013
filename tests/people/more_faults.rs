//! Faults of earth, fuses, charge and parts of unknown value, and those of other shapes.

use super::faults::{Lister, Want};

impl Lister {
    pub(super) fn unknown_parts(&mut self) {
        let made = self.draw(&[
            "resistor R90 unknown",
            "capacitor R90 unknown",
            "thermistor R90 unknown",
            "varistor R90",
            "lamp R90 230V",
        ]);
        let (from, to) = (self.mains(), self.reach());
        self.add("unknown part: mains", &[format!("{made} from {from} to {to}")], &["R90"]);
        let made = self.draw(&["resistor R90 unknown", "thermistor R90 unknown", "lamp R90 230V"]);
        let (from, to) = (self.rail(), self.tip());
        self.add("unknown part: HT", &[format!("{made} from {from} to {to}")], &["R90"]);
        let (from, to) = (self.rail(), self.tip());
        let record = format!("added capacitor C90 unknown from {from} to {to}\n");
        self.put("unknown capacitor: HT", [Some(record), None], &["C90"]);
    }

    pub(super) fn charges(&mut self) {
        let (from, to) = (self.rail(), self.tip());
        let farads = self.draw(&["47u", "100u", "220u"]);
        let line = format!("capacitor C90 {farads} 500V electrolytic plus {from} minus {to}");
        self.add("large capacitor on a jack", &[line], &["C90"]);
        let (from, farads) = (self.rail(), self.draw(&["1u", "2u2", "4u7"]));
        let lines = [
            "jack J9 \"Send\" sleeve chassis".to_owned(),
            format!("capacitor C90 {farads} 500V film from {from} to J9.tip"),
        ];
        self.add("capacitor on a jack that nothing drains", &lines, &["C90"]);
        let (from, made) =
            (self.mains(), self.draw(&["4n7 500V ceramic", "22n 630V paper", "100n 400V film"]));
        let line = format!("capacitor C90 {made} from {from} to chassis");
        self.add("capacitor without class", &[line], &["C90"]);
        let made = self.draw(&["470n", "1u", "2u2"]);
        let line = format!("capacitor C90 {made} 275V class-X2 from P1.live to P1.neutral");
        self.add("charge at the plug", std::slice::from_ref(&line), &["C90"]);
        let ohms = self.draw(&["4M7", "10M"]);
        let bleeder = format!("resistor R90 {ohms} 1W from P1.live to P1.neutral");
        self.add("charge at the plug: weak bleeder", &[line.clone(), bleeder], &["C90"]);
        let bleeder = "resistor R90 470k 1W from T1.primary.a to T1.primary.b".to_owned();
        self.add("charge at the plug: bleeder behind the switch", &[line, bleeder], &["C90"]);
    }

    pub(super) fn earth(&mut self) {
        let lifted = self.edited(&[("live F1.1 earth chassis", "live F1.1")]);
        self.put("earth lifted", [Some("P1.earth lifted\n".to_owned()), Some(lifted)], &["P1"]);
        let two = self
            .edited(&[("inlet P1 250V 10A live F1.1 earth chassis", "inlet P1 two-core 250V 10A live F1.1")]);
        self.put("earth missing", [Some("P1 replaced two-core\n".to_owned()), Some(two)], &["P1"]);
        let part = "resistor R90 10R 5W from P1.earth to chassis";
        let through = format!("{}\n{part}\n", self.edited(&[("live F1.1 earth chassis", "live F1.1")]));
        let record = "P1.earth moved to R90.1\nadded resistor R90 10R 5W to chassis\n".to_owned();
        self.put("earth through a part", [Some(record), Some(through)], &["P1", "R90"]);
    }

    pub(super) fn fuses(&mut self) {
        let past = self.line_instead("fuse F1", "").replace("live F1.1 ", "").replace("F1.2", "P1.live");
        self.put("fuse missing", [Some("P1.live moved to F1.2\n".to_owned()), Some(past)], &["P1", "F1"]);
        self.add("fuse bridged", &["link W90 from F1.1 to F1.2".to_owned()], &["F1", "W90", "P1"]);
        self.put("fuse shorted", [Some("F1 shorted\n".to_owned()), None], &["F1"]);
        let neutral =
            self.edited(&[("live F1.1", "neutral F1.1"), ("joins P1.neutral to", "joins P1.live to")]);
        let record = "P1 live swapped with neutral\n".to_owned();
        self.put("fuse in the neutral alone", [Some(record), Some(neutral)], &["F1", "P1"]);
        for amps in ["6.3A", "10A"] {
            let larger = self.line_instead("fuse F1", &format!("fuse F1 {amps} 250V slow"));
            let record = format!("F1 replaced {amps} 250V slow\n");
            self.put("fuse too large", [Some(record), Some(larger)], &["F1"]);
            // Without a spec it is above twice the full-load current, which is a warning.
            self.faults.last_mut().expect("just put").want[1] = Want::Warning;
        }
        let huge = self.line_instead("fuse F1", "fuse F1 50A 250V slow");
        self.put("fuse of 50 A", [Some("F1 replaced 50A 250V slow\n".to_owned()), Some(huge)], &["F1"]);
        let wire = format!("{}\nlink W90 from P1.live to P1.neutral\n", self.text);
        self.put("mains shorted", [Some("P1.neutral moved to F1.1\n".to_owned()), Some(wire)], &["P1"]);
        let pulled = "F1 missing\nadded link W90 from F1.2 to chassis\n".to_owned();
        self.put("chassis, the fuse pulled", [Some(pulled), None], &["W90"]);
    }

    /// Where there is one.
    pub(super) fn high_tension_fuse(&mut self) {
        if !self.text.contains("fuse F2") {
            return;
        }
        let moved = "T1.ht.centre moved to chassis\n".to_owned();
        self.put("HT fuse: a leg moved past it", [Some(moved), None], &["F2"]);
        let part = "added resistor R90 10R 5W from T1.ht.centre to chassis\n".to_owned();
        self.put("HT fuse: a part beside it", [Some(part), None], &["F2"]);
        let wire = "link W90 from T1.ht.centre to chassis".to_owned();
        self.add("HT fuse: bridged", &[wire], &["F2"]);
        let huge = self.line_instead("fuse F2", "fuse F2 50A 250V slow from T1.ht.centre to chassis");
        self.put("HT fuse of 50 A", [Some("F2 replaced 50A 250V slow\n".to_owned()), Some(huge)], &["F2"]);
    }

    pub(super) fn warnings(&mut self) {
        let before = self.faults.len();
        self.add("switch in the neutral alone", &["link W90 from F1.2 to T1.primary.a".to_owned()], &["S1"]);
        let car = self.line_instead("fuse F1", "fuse F1 500mA 32V slow");
        let record = Some("F1 replaced 500mA 32V slow\n".to_owned());
        self.put("fuse under mains volts", [record, Some(car)], &["F1"]);
        for (kind, made) in [("switch under volts", "125V 10A"), ("switch under amperes", "250V 100mA")] {
            let line = format!("switch S1 {made} positions off on now on");
            self.put(kind, [None, Some(self.line_instead("switch S1", &line))], &["S1"]);
        }
        let load = "resistor R90 0R5 100W from T1.heat.a to T1.heat.b".to_owned();
        self.add("heater winding over its current", &[load], &["T1"]);
        let tie = "link W90 from T1.heat.a to T1.heat.b".to_owned();
        self.add("heater ends tied", &[tie], &["T1", "W90"]);
        let unfed = self.edited(&[("feeds V1 V2", "feeds V2")]);
        self.put("heater not fed", [None, Some(unfed)], &["V1"]);
        let raised = Some("T1.heat.centre moved to B1\n".to_owned());
        self.put("heaters at HT", [raised, None], &["V1", "V1a", "V1b", "V2", "V2a", "V2b", "V3", "V4"]);
        for fault in &mut self.faults[before..] {
            fault.want = [Want::Warning; 2];
        }
    }

    /// Everything between mains and hands with no earth to carry it off.
    pub(super) fn class_two(&mut self) {
        let ohms = [self.ohms(), self.ohms(), self.ohms()];
        let (from, to) = (self.mains(), self.reach());
        self.joins(["class II: wire", "class II: resistor", "class II: two"], &from, &to, ohms);
        let from = self.mains();
        let line = format!("capacitor C90 22n 275V class-Y2 from {from} to chassis");
        self.add("class II: class Y too large", &[line], &["C90"]);
    }

    /// With two primaries and the selector in either position.
    pub(super) fn selector(&mut self) {
        let ohms = [self.ohms(), self.ohms(), self.ohms()];
        let (from, to) = (self.draw(&["S9.x", "S9.y", "T1.primary2.a", "T1.primary2.b"]), self.reach());
        let kinds = ["mains selector: wire", "mains selector: resistor", "mains selector: two"];
        let before = self.faults.len();
        self.joins(kinds, &from, &to, ohms);
        // Nothing tells a bare document which of the parts one behind the other is the one too many.
        for fault in &mut self.faults[before..] {
            fault.right = &["W90", "R90", "R91", "W81", "W82"];
        }
    }
}
