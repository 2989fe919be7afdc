"""What a night call that wants a visit is about: shares by species, in rows of the complaint table [cp].

Grounds: calving and lambing lead, then sick or down animals, then injuries; horses mostly colic
and wounds [S66, S47]. How a group falls into rows of the table is invented.
"""

from collections.abc import Mapping

CATTLE = {
    "dystocia_cattle": 36,
    "caesarean_cattle": 4,
    "uterine_torsion_cattle": 2,
    "milk_fever": 11,
    "down_cow": 5,
    "uterine_prolapse_cow": 4,
    "vaginal_prolapse_cow": 1,
    "calf_scour": 8,
    "toxic_mastitis": 7,
    "bloat_free_gas": 2,
    "bloat_frothy": 1,
    "grass_staggers": 2,
    "left_displaced_abomasum": 3,
    "wound_wire_cut": 3,
    "respiratory_distress_cattle": 2,
    "metritis_toxic_cow": 2,
    "calf_pneumonia_outbreak": 2,
    "right_displaced_abomasum": 1,
    "wound_haemorrhage": 1,
    "choke_cattle": 1,
    "fracture_suspected": 1,
    "post_calving_bleed": 1,
}
SHEEP = {
    "dystocia_ewe": 54,
    "ringwomb": 8,
    "vaginal_prolapse_ewe": 9,
    "uterine_prolapse_ewe": 3,
    "twin_lamb_disease": 9,
    "hypocalcaemia_ewe": 5,
    "lamb_cold_watery_mouth": 4,
    "mastitis_ewe_gangrene": 3,
    "dog_attack": 2,
    "blocked_urethra": 2,
    "wound_haemorrhage": 1,
}
HORSE = {
    "colic_horse": 33,
    "wound_wire_cut": 12,
    "wound_joint_horse": 8,
    "laminitis_acute": 10,
    "foaling_trouble": 12,
    "eye_horse": 9,
    "choke_horse": 9,
    "foal_sick": 4,
    "retained_placenta_mare": 3,
}
PIG = {"sow_farrowing_trouble": 60, "prolapse_sow": 20, "pigs_fever_deaths": 20}
CAMELID = {"camelid_down": 40, "dystocia_camelid": 30, "cria_weak": 30}

COMPLAINTS: Mapping[str, Mapping[str, int]] = {
    "cattle": CATTLE,
    "sheep": SHEEP,
    "horse": HORSE,
    "pig": PIG,
    "camelid": CAMELID,
}
OTHER_SPECIES = ("pig", "camelid")
CLUSTERED = frozenset({"calf_scour", "calf_pneumonia_outbreak", "grass_staggers"})
"""Complaints that come in clusters: the same farm rings again."""
CALVING_BY_THE_KNIFE = {"dystocia_cattle": (0.22, frozenset({"surgical_kit_cattle"}))}
"""Share of visits that end in surgery nobody could foresee on the telephone, and the kit that spends [cp]."""
