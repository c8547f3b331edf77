"""The cautions: what these records can do and what they cannot."""

TO_WHOEVER_WEARS_IT = (
    "No helmet prevents all injury to head or neck. Never strike with the helmet, and never with the head.",
    "Gearlife keeps records and computes from what was entered. It certifies nothing and declares nothing safe. “No "
    "recorded reason to stop” is the most that it ever says: no recorded reason is no proof.",
    "The maker's instructions, the governing body's rules, local law and licensed recertifiers govern. Where sources "
    "disagree, the stricter one is the default, and its source is shown.",
    "Fit is judged on the player, by somebody trained to do it. Only trained staff add or release air.",
    "Paint, wax, decals and cleaners that the maker has not approved can harm a shell; add-ons make it another, "
    "untested model.",
    "This is not medical advice. After a suspected injury of head or neck the player stops, and the helmet is put "
    "aside untouched.",
)
TO_WHOEVER_KEEPS_RECORDS = (
    "No recall or safety notice is checked here: ask the maker and the authority.",
    "Most players are minors: who may see what, and for how long, is a question for your counsel. Write no names into "
    "reasons, notes and conditions: the history forgets nothing.",
)
CAUTIONS = (*TO_WHOEVER_WEARS_IT, *TO_WHOEVER_KEEPS_RECORDS)
