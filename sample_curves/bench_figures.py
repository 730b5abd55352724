"""The rest of the demo: findings, points and coil, reassembly, setting up; as invented as the unit.

Its shaft has worn its bush, which the side play shows, and the weak primary is not to be seen by
any of these: the curve tells that.
"""

from __future__ import annotations

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.findings import Findings, LeakReading, LobeAngle
from bobweight.core.docket.points import Coil, Points
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.docket.setting_up import RotorFit


def with_bench(docket: Docket) -> Docket:
    """The docket with everything round the curve filled in."""
    return docket.with_changes(
        findings=Findings(
            side_play_mm=0.09,
            end_float_mm=0.15,
            lobes_deg=tuple(LobeAngle(firing_deg=a) for a in (0.0, 90.5, 180.0, 269.5)),
            u_lobe_deg=0.25,
            gap_mm=0.38,
            dwell_deg=60.0,
            dwell_change_deg=1.5,
            spring_n=5.4,
            condenser_uf=0.21,
            insulation_mohm=200.0,
            earth_drop_v=0.06,
            earth_lead="doubtful",
            rotor_kohm=5.2,
            rotor="sound",
            cap="sound",
            weight_difference_g=0.3,
            pivot_clearance_mm=0.06,
            weights_free="sound",
            plate="sound",
            leak=(
                LeakReading(time_s=0.0, depression_kpa=50.8),
                LeakReading(time_s=30.0, depression_kpa=50.1),
                LeakReading(time_s=60.0, depression_kpa=49.5),
            ),
            u_leak_kpa=0.3,
            notes="Earth lead frayed where it passes the plate.",
            u={"side_play_mm": 0.01, "gap_mm": 0.02, "dwell_deg": 0.8},
        ),
        points=Points(
            flat_mm=7.5, lever_ratio=1.1, known_gap_mm=0.38, known_dwell_deg=60.0, set_gap_mm=0.38
        ),
        coil=Coil(supply_v=13.5, coil_ohm=3.2, inductance_mh=8.0, wanted_a=3.0),
        reassembly=Reassembly(
            drive="offset-dog", dog_offset_mm=1.2, dog_length_mm=13.0, dog_width_mm=3.2,
            shaft_mm=14.0, cam_across_mm=17.5, slot_deg=35.0, shaft_oiled=True, thrust_order=True,
            weights_matched=True,
        ),
        setting_up=docket.setting_up.with_changes(
            states=tuple(
                s.with_changes(engine_rpm=750.0) if s.name == "Idle" else s
                for s in docket.setting_up.states
            ),
            wanted_total_deg=32.0, ceiling_total_deg=42.0, idle_rpm=750.0, altitude_m=1500.0,
            pulley_mm=140.0,
            rotor=RotorFit(tip_mm=9.0, post_mm=6.0, radius_mm=26.0, off_deg=4.0),
        ),
    )  # fmt: skip
