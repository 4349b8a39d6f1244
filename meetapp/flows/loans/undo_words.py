"""What an undo tells to fetch back or give back, and why one is refused. Templates as in `journal_sentences`."""

TELLS_MORE = (
    "override",
    "paper_loan",
    "paper_loan_out",
    "heat_flown",
    "heat_token_back",
    "heat_token_out",
    "heat_seat_waits",
    "heat_no_token",
    "line_place_back",
)
"""Kinds of lines that only tell more of the line before them; they are undone with it."""

UNDO_WORDS: dict[str, str] = {
    "handed_out": "Fetch tag {token} back from {pilot} before anybody else powers up.",
    "ground_lent": "{name} has to go off air again[; fetch tag {token} back].",
    "taken_back": "Give {token} back to {pilot}: it counts as out without a break.",
    "ground_off": "{name} counts as on air without a break[; tag {token} goes back with it].",
    "handed_over": "Fetch tag {token} back from {pilot} and give it to [{other_pilot}][{name}] again, "
    "before anybody powers up.",
    "turns_swapped": "Fetch tag {token} back from {pilot} and give it to {other_pilot} again, "
    "before anybody powers up.",
    "setting_changed": "[{pilot}][{name}] has to set {label_before}[, {mhz_before}] again.",
    "seen_on_goggles": "The tick for {pilot} is taken away.",
    "seen_taken_back": "{pilot} has the tick again.",
    "line_joined": "{pilot} is out of the line again.",
    "line_left": "{pilot} stands in the line again, at the old place.",
    "line_not_ready": "{pilot} is ready again.",
    "line_ready_again": "{pilot} is passed once, as before.",
    "sharing_started": "{pilot} has {token} alone again; {other_pilot} is where they were before.",
    "sharing_ended": "{pilot} and {other_pilot} use {token} by turns again.",
    "token_missing": "{token} is not missing[: it counts as out with {pilot} without a break]"
    "[: it counts as out with {name} without a break].",
    "token_found": "{token} is missing again.",
    "token_withdrawn": "{token} is in use again.",
    "token_in_use_again": "{token} is withdrawn again.",
    "heat_called": "Fetch the tags of round {round}, heat {number} back before anybody powers up."
    "[ Round {round_before}, heat {number_before} is in the air again: give its tags back.]",
    "heat_call_off": "Round {round}, heat {number} is in the air again: give its tags back.",
    "heat_flown": "Round {round}, heat {number} is in the air again: give its tags back.",
    "heat_voided": "Round {round}, heat {number} counts as it did before.",
    "heat_token_out": "Fetch tag {token} back from {pilot} before anybody else powers up.",
    "heat_landed_late": "{pilot} is still up and has {token}.",
    "heat_no_show": "{pilot} flies in round {round}, heat {number}.",
    "heat_broken": "{pilot} flies in round {round}, heat {number}.",
    "heat_no_token": "{pilot} waits in round {round}, heat {number}.",
    "heat_left": "{pilot} has all seats again.",
}

CONTRADICTION_WORDS: dict[str, str] = {
    "token_twice": "{token} would be out twice",
    "pilot_twice": "{pilot} would hold two tokens",
    "token_not_usable": "{token} would be out, but it isn't in use",
    "holder_absent": "{pilot} would hold a token without being here",
    "holder_in_line": "{pilot} would hold a token and stand in the line",
    "waiting_twice": "{pilot} would stand in the line twice",
    "waiting_absent": "{pilot} would stand in the line without being here",
    "turns_without_loan": "{token} is used by turns",
    "partner_holds": "{pilot} holds another token by now",
    "partner_in_line": "{pilot} stands in the line by now",
    "partner_absent": "{pilot} isn't here any more",
}
