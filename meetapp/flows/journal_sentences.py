"""What each kind of journal line says.

A template names facts in braces; ids are shown as names: {pilot} as a board name, {token} as the label on the tag.
A part in square brackets is left out where one of its facts is missing or empty.
"""

SENTENCES: dict[str, str] = {
    # what the flows of access write
    "club_named": "The club was named {name}",
    # loans
    "handed_out": "{token} handed out to {pilot}: {label}[, {mhz}][, {power_mw}]",
    "ground_lent": "{name} on air on {label}[, {mhz}][, with tag {token}][, {power_mw}]",
    "taken_back": "{token} taken back from {pilot}",
    "ground_off": "{name} off air[, tag {token} back]",
    "handed_over": "{token} handed over from [{other_pilot}][{name}] to {pilot}: {label}[, {mhz}][, {power_mw}]",
    "setting_changed": "[{pilot}: ][{name}: ]set to {label}[, {mhz}][, {power_mw}], "
    "before {label_before}[, {mhz_before}]",
    "seen_on_goggles": "{pilot} has seen the picture on their own goggles",
    "seen_taken_back": "{pilot} has not seen the picture on their own goggles after all",
    "override": "By override[ for {pilot}][ for {name}]: {reason}[ (below a floor: {shortfalls})]"
    "[ (passed: {other_pilot}, who has waited {minutes} min)]",
    # waiting line
    "line_joined": "{pilot} joined the line",
    "line_left": "{pilot} left the line",
    "line_place_back": "{pilot} is back in the line, at the old place",
    "line_not_ready": "{pilot} is not ready: passed once, place kept",
    "line_ready_again": "{pilot} is ready again",
    # turns
    "sharing_started": "{pilot} and {other_pilot} use {token} by turns",
    "turns_swapped": "{token} goes by turns from {other_pilot} to {pilot}: {label}[, {mhz}][, {power_mw}]",
    "sharing_ended": "{pilot} and {other_pilot} no longer use {token} by turns",
    # tokens
    "token_missing": "{token} is missing[; {pilot} had it last][; it was with {name}]",
    "token_found": "{token} is found",
    "token_withdrawn": "{token} is withdrawn",
    "token_in_use_again": "{token} is in use again",
    "token_replaced": "{token} gets a new tag with the code {code}; the old code {code_before} is withdrawn",
    # a pilot's own page
    "name_claimed": "{pilot} claimed their name[ and brought: {transmitter}]",
    "pilot_added_self": "{pilot} added themself[ and brought: {transmitter}]",
    "link_renewed": "{pilot} got a new link",
    "here_by_self": "{pilot} is here[ with: {transmitter}]",
    "pass_offered": "{pilot} offers {token} to {other_pilot}",
    "pass_refused": "{other_pilot} does not take {token} from {pilot}",
    "pass_withdrawn": "{pilot} no longer offers {token} to {other_pilot}",
    # the desk: who is here, pauses, alarms, counts, paper, reports
    "checked_in": "{pilot} is here[ with: {transmitter}]",
    "checked_in_new": "{pilot} is new and here[ with: {transmitter}]",
    "transmitter_today": "{pilot} flies another transmitter today[: {transmitter}]",
    "went_home": "{pilot} went home",
    "paused": "The meet is paused: {reason}",
    "resumed": "The meet goes on after a pause of {minutes} min: {reason}",
    "alarm_raised": "Alarm: {name}",
    "alarm_over": "Over after {minutes} min: {name}",
    "tokens_counted": "Tokens counted: {count} on the board[, {mismatches} not agreeing]",
    "paper_entered": "A paper sheet entered, loans: {count}",
    "paper_loan": "From paper: {pilot} had {token} for {minutes} min, set to {label}[, {mhz}]",
    "paper_loan_out": "From paper: {token} handed out to {pilot}: {label}[, {mhz}]",
    "report_added": "Clash report[ of {pilot}]: {look}",
    # a meet before and after
    "meet_added": "The meet '{name}' is planned",
    "meet_changed": "Details of '{name}' changed[, spacing floor {spacing_mhz}][, clearance floor {clearance_mhz}]"
    "[, lower floors because: {reason}]",
    "expected_set": "Expected pilots: {count}",
    "set_accepted": "A set of {count} accepted: {mhz_list}[, pull now {pull_mhz}][, spacing floor {spacing_mhz}]"
    "[, clearance floor {clearance_mhz}][, lower floors because: {reason}]",
    "meet_tokens_set": "Tokens of the meet chosen by hand: {count}[, spacing floor {spacing_mhz}]"
    "[, clearance floor {clearance_mhz}]",
    "desk_pin_made": "A new PIN and a new desk link for '{name}'[, marshals signed out: {count}]",
    "meet_opened": "'{name}' opened",
    "meet_closed": "'{name}' closed, loans settled at the close: {count}",
    "meet_imported": "'{name}' read back from a meet file",
    # heats
    "heats_made": "Heats made: {heats} for {pilots} pilots, {size} at once, {rounds} rounds in all[, channel changes: "
    "{changes}]",
    "heat_called": "Round {round}, heat {number} called, tokens out: {count}",
    "heat_call_off": "Round {round}, heat {number} no longer called, tokens back: {count}",
    "heat_flown": "Round {round}, heat {number} flown[, with gaps: {gaps}][, still up: {up}]",
    "heat_voided": "Round {round}, heat {number} doesn't count[: flown again as heat {again} of the round]",
    "heat_token_out": "{token} handed out to {pilot} for the heat: {label}[, {mhz}][, {power_mw}]",
    "heat_token_back": "{token} back from {pilot} after the heat",
    "heat_seat_waits": "{pilot} waits in the heat, without a token: {label}[, {mhz}]",
    "heat_landed_late": "{pilot} landed late, {token} back",
    "heat_no_show": "Round {round}, heat {number}: {pilot} did not come",
    "heat_broken": "Round {round}, heat {number}: {pilot} has a broken quad",
    "heat_no_token": "Round {round}, heat {number}: flown without {pilot}, who got no token",
    "heat_left": "{pilot} flies in no more heats, seats left empty: {count}",
    "heat_pilots_swapped": "{pilot} and {other_pilot} swap heats in round {round}",
    "heat_pilot_moved": "{pilot} moved to round {round}, heat {number}",
    "heat_seat_changed": "{pilot} in round {round}, heat {number}: {label}[, {mhz}], pad {pad}",
    "heat_pilot_fitted_in": "{pilot} fitted into the heats, rounds: {rounds}",
    # the club's set-up
    "club_changed": "The club saved: {name}[, field address {address}], useful clearance {clearance_mhz}",
    "password_changed": "The organiser's password changed",
    "signed_out_everywhere": "The organiser signed out everywhere, browsers: {count}",
    "site_added": "The site {name} added",
    "site_changed": "The site {name} changed",
    "neighbour_added": "At {site}: neighbour {name} added, {mhz}, {width_mhz} wide",
    "neighbour_removed": "At {site}: neighbour {name} removed, {mhz}, {width_mhz} wide",
    "band_added": "The band profile '{name}' added: {edges}",
    "band_changed": "The band profile '{name}' changed: {edges}",
    "kind_added": "The kind '{name}' added",
    "kind_changed": "The kind '{name}' changed",
    "setting_card_saved": "The setting card of the kind '{name}' saved",
    "setting_card_dropped": "The setting card of the kind '{name}' taken away",
    "plan_added": "Channel plan {name} added, channels: {count}",
    "plan_changed": "Channel plan {name} changed, channels: {count}",
    "retired": "The {noun} '{name}' retired",
    "brought_back": "The {noun} '{name}' brought back",
    "pilot_added": "{pilot} put on the list[ with: {transmitter}]",
    "pilot_changed": "{pilot}: name, board name or band profile saved",
    "pilot_retired": "{pilot} retired",
    "pilot_brought_back": "{pilot} brought back",
    "name_deleted": "The name of {pilot} was deleted, for good",
    "pilots_imported": "Pilots taken from a list: {count}",
    "transmitter_added": "{pilot} has another transmitter: {transmitter}[, wakes on {mhz}]",
    "transmitter_changed": "{pilot}'s transmitter saved: {transmitter}[, wakes on {mhz}]",
    "transmitter_retired": "{pilot}'s transmitter retired: {transmitter}",
    "transmitter_brought_back": "{pilot}'s transmitter brought back: {transmitter}",
    "tokens_taken_over": "Tokens taken over, {count}: {name}",
    "tokens_made": "Tokens made, {count}: {name}",
    "token_corrected": "What stands on a tag corrected: {label}, {mhz}",
    # undo
    "undone": "Undone: {line}",
}
