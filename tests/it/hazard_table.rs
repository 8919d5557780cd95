//! What can go wrong in the whole job, what holds it back, and the tests that prove it. `proving.rs` takes each named
//! control out and expects its test to fail; `hazards.rs` prints the table.

pub struct Hazard {
    pub hazard: &'static str,
    pub cause: &'static str,
    pub control: &'static str,
    /// Controls that can be taken out (`control::holds` in the sources), each with a test that fails without it: the
    /// control's name; file and test, as in `tests/it/mistakes.rs enter_pressed_twice_calls_once`.
    pub proved: &'static [(&'static str, &'static str)],
    /// Further tests.
    pub tested: &'static [&'static str],
}

macro_rules! hazards {
    ($($hazard:literal | $cause:literal | $control:literal
        $(| $name:literal: $proof:literal)+ $(=> $($test:literal),+)?;)+) => {
        &[$(Hazard {
            hazard: $hazard,
            cause: $cause,
            control: $control,
            proved: &[$(($name, $proof)),+],
            tested: &[$($($test),+)?],
        }),+]
    };
}

pub const HAZARDS: &[Hazard] = hazards! {
    "the wrong size is opened" | "near-identical boxes in one cupboard"
        | "the label is held against the call field by field; DIFFERENT goes on only by typing size and reason"
        | "call-compared-field-by-field": "tests/it/case_told.rs a_box_that_differs_in_one_field_alone_is_different"
        | "fewest-differences-first": "tests/it/case_told.rs a_wrong_box_comes_nearest_to_the_call_with_the_fewest_differences"
        => "tests/it/readback.rs a_different_box_is_held_against_the_nearest_call_field_by_field",
           "tests/it/mistakes.rs the_wrong_box_is_told_in_words_and_put_back_in_one_key";
    "the wrong size is fetched" | "a call is misheard"
        | "a sentence to say back in whole words; digits that differ are marked"
        | "size-in-words": "src/case/spoken.rs sizes_are_said_as_words"
        => "src/case/spoken.rs differing_digits_are_found";
    "SAME and DIFFERENT are taken for each other" | "read across the room, without colour, by tired eyes"
        | "a solid plate, a striped frame, a thin frame; the box beside the call in large letters, differing digits marked"
        | "plates-differ": "src/tui/paint/plate.rs the_three_forms_differ_without_colour_and_without_the_words"
        => "tests/it/far.rs a_read_back_is_shown_until_it_is_decided";
    "a second monitor shows what is no longer true" | "its room went away, or the program beside it was killed"
        | "NOT FOLLOWED SINCE in place of what stood there; a read-back is shown only while its program beats"
        | "beat-looked-at": "src/room/glance.rs what_a_killed_program_left_is_never_shown"
        => "tests/it/far_terminal.rs it_follows_a_room_resized_and_lost_and_found_and_writes_nothing",
           "tests/it/far_terminal.rs a_read_back_and_the_balloons_clock_reach_it_and_a_killed_program_leaves_none_of_it";
    "a balloon stays up too long" | "the clock is lost with its program, or nobody sees it"
        | "balloon up is an entry: the clock runs on every screen and goes on after a crash or with a full disk"
        | "balloon-clock-runs": "tests/it/clock.rs a_disk_that_refuses_stops_no_clock"
        => "tests/it/clock.rs the_clock_goes_on_after_a_crash",
           "tests/it/far.rs the_balloons_clock_is_large";
    "a reassuring word hides a fault" | "a matching size on a box with something against it"
        | "the headline is the worst thing that is true"
        | "headline-is-the-worst": "tests/it/readback.rs the_headline_is_the_worst_thing_that_is_true"
        => "tests/it/readback.rs same_is_never_said_of_a_box_with_something_against_it";
    "an answer is taken for an order, or for what is best" | "it is acted on by somebody who sees no caution"
        | "every answer, document and screen says who decides; a rule's first is never called best"
        | "answer-says-who-decides": "tests/it/answers.rs every_answer_in_words_says_who_decides"
        => "tests/it/answers.rs every_answer_in_json_says_who_decides",
           "tests/it/deference.rs every_scene_says_who_decides",
           "tests/it/words.rs one_thing_has_one_word_in_every_text";
    "an expired box is opened" | "old stock in front of new"
        | "first expired first out; STOP: EXPIRED at read-back"
        | "expired-never-proposed": "tests/it/shelf.rs first_expired_first_out_in_date_and_not_recalled"
        => "tests/it/mistakes.rs an_expired_box_stops_and_can_still_be_written_down";
    "a recalled box is opened" | "the notice came after the box was put on the shelf"
        | "a recalled lot is never proposed, and stops at read-back; an unread identifier counts as the worst"
        | "recalled-never-proposed": "tests/it/lookback.rs a_recalled_lot_is_marked_and_everybody_who_had_it_is_found"
        => "tests/it/readback.rs a_recall_of_another_product_or_lot_stops_nothing";
    "a recalled box passes" | "the notice names its carton, or another identifier of the box"
        | "a recall and a trace go by every identifier of the box and by its cartons' numbers"
        | "recall-by-every-level": "tests/it/lookback.rs a_box_is_found_by_all_its_identifiers_and_by_its_cartons"
        => "src/udi.rs a_carton_carries_the_number_of_its_boxes_at_another_level";
    "an expired box passes, or every box is expired" | "the computer's clock is set back, or has run ahead"
        | "dates are judged by the later of the computer's day and the journal's last day; CHECK THE DATE until somebody confirms it with a reason; what a clock far ahead wrote is no last day"
        | "day-never-before-the-journals": "tests/it/days.rs a_clock_that_was_set_back_lets_no_expired_box_pass"
        => "tests/it/days.rs a_clock_that_ran_ahead_is_asked_about_and_expires_no_box_for_ever",
           "tests/it/days_of_programs.rs commands_judge_by_the_same_day_as_the_screens_and_say_so",
           "src/journal/day.rs what_a_clock_far_ahead_wrote_is_no_last_day_until_it_is_confirmed";
    "a screen goes on saying SAME" | "a lot is recalled, a last day passes, a call is cancelled: here, on another terminal or at midnight"
        | "a finding is worked out from the label and what is known now whenever it is shown or acted on, never kept; a change is announced, and an answer given under another finding confirms nothing"
        | "finding-worked-out-anew": "tests/it/findings.rs a_box_at_hand_whose_lot_is_recalled_stops_on_every_screen"
        => "tests/it/findings.rs what_another_terminal_recalls_stops_a_label_on_the_screen_and_a_box_at_hand",
           "tests/it/findings.rs midnight_stops_a_label_on_the_screen_and_a_box_at_hand",
           "tests/it/findings.rs a_call_cancelled_on_another_terminal_is_said_and_asks_for_a_new_confirmation",
           "tests/it/findings.rs an_answer_typed_under_another_finding_confirms_nothing",
           "tests/it/together.rs three_programs_of_one_room_say_at_once_what_has_changed";
    "an open device is used although it is recalled" | "the notice comes while it lies on the table"
        | "what is open is judged again before it is offered; used all the same, that is asked twice"
        | "open-device-judged-again": "tests/it/findings.rs a_device_back_on_the_table_is_judged_again"
        => "tests/it/findings.rs an_open_balloon_is_judged_again_before_it_is_offered";
    "a key confirms what nobody has read" | "the finding, or the screen, changes under a finger"
        | "keys and codes that decide about a box rest for half a second after it"
        | "keys-rest-after-a-finding": "tests/it/findings.rs keys_and_codes_that_decide_rest_after_a_scan_and_after_a_change"
        => "tests/it/findings.rs a_box_that_moves_under_a_finger_is_not_opened_by_it";
    "an answer is taken from a journal that somebody was at" | "a flipped bit, an edited entry, an older copy in place"
        | "every command checks all of it first; answer, JSON and documents say that it does not hold, exit 3, and trace says no clean no"
        | "journal-checked-first": "tests/it/holds.rs an_altered_lot_is_never_answered_with_a_clean_no"
        => "tests/it/holds.rs one_flipped_bit_in_the_file_is_said_with_every_answer",
           "tests/it/holds.rs an_older_backup_in_place_is_said_with_every_answer",
           "src/store/tests.rs an_index_that_says_something_else_is_found";
    "the guards of the journal are gone, or another program's trigger is in it" | "somebody was at its file"
        | "tables, indexes, triggers and views are compared one by one with those that belong there"
        | "objects-compared": "src/store/tests.rs every_part_that_is_missing_changed_or_foreign_is_named"
        => "tests/it/holds.rs guards_that_are_gone_and_triggers_that_do_not_belong_there_are_said";
    "a name from a file or a label rewrites what is on the terminal" | "escapes and marks that turn letters about"
        | "refused in every file with its place; written as its number on every way out"
        | "names-without-power": "tests/it/hostile.rs a_name_that_has_power_over_a_terminal_is_refused_with_its_place"
        | "output-without-power": "tests/it/hostile.rs nothing_that_is_printed_has_power_over_a_terminal";
    "a journal that is gone passes for an empty one" | "its file was deleted, moved away or emptied"
        | "the files beside it show that there was one: journal-gone, and none is made in its place"
        | "gone-journal-noticed": "tests/it/holds.rs a_journal_that_is_gone_is_no_room_without_cases";
    "all of the journal is written anew" | "somebody who can write in its folder"
        | "every record has the journal's head, to be compared with it later"
        | "heads-compared": "tests/it/holds.rs a_head_that_was_kept_elsewhere_shows_what_the_chain_can_not";
    "an entry is called written and is not" | "a trigger of another program leaves it out"
        | "an append reads its rows back before its commit"
        | "rows-read-back": "src/store/tests.rs what_does_not_read_back_is_not_called_written";
    "a recall list is taken in by half" | "a row of it is wrong"
        | "every fault with line and column, and all lots or none"
        | "recall-list-whole-or-not": "src/shelf/recall.rs every_fault_is_told_with_its_place_and_nothing_is_taken";
    "a recalled implant is not found" | "its opening was struck out, did not fit its case, or its lot was not read"
        | "trace tells openings that were struck or are loose, and boxes of the identifier without a lot, and says so"
        | "struck-openings-are-traced": "tests/it/handover.rs a_lot_is_traced_to_its_case_codes"
        => "tests/it/lookback.rs the_disk_is_searched_for_what_the_fold_finds";
    "a dialog is confirmed unseen" | "the scanner's own Enter"
        | "the end of a scan confirms nothing, on any screen"
        | "terminator-confirms-nothing": "src/label/burst.rs further_terminators_confirm_nothing"
        => "tests/it/terminal.rs a_scan_confirms_nothing_whatever_stands_at_its_end",
           "tests/it/mistakes.rs a_scan_on_the_wrong_screen_signs_nothing_off";
    "a lot is read with the next field in it" | "the scanner drops the separator"
        | "all readings are shown and none is chosen"
        | "all-readings-shown": "tests/it/label_conduct.rs a_lost_separator_shows_all_readings";
    "a label is read as another" | "a keyboard layout that is not the scanner's"
        | "a wrong layout is found before anything is read"
        | "wrong-layout-found": "tests/it/label_conduct.rs a_wrong_layout_is_found_before_anything_is_read";
    "half a label passes for a whole one" | "a scan broke off"
        | "a cut label never shows another identifier, and is doubtful"
        | "cut-label-doubtful": "tests/it/readback.rs a_scan_that_broke_off_is_doubtful"
        => "tests/it/labels.rs a_cut_label_never_shows_another_identifier";
    "fields of two boxes on one record" | "two symbols scanned in one burst"
        | "symbols that contradict each other, or follow two standards, are not joined"
        | "standards-not-joined": "tests/it/label_conduct.rs two_standards_are_not_joined";
    "the catalogue calls a box by a wrong size" | "a slip in a product file"
        | "the first box of an identifier has its printed size typed; an unverified product is never SAME"
        | "printed-size-typed-once": "tests/it/readback.rs the_first_box_of_an_identifier_has_its_printed_size_typed_once"
        => "tests/it/mistakes.rs a_printed_size_that_is_not_the_catalogues_stops_the_box",
           "tests/it/readback.rs an_unverified_product_is_never_the_same";
    "a slip in a product file goes unseen" | "files are written by hand"
        | "checks on load, every fault with its place, in one run"
        | "chart-rises": "tests/it/catalogue.rs each_check_of_a_product_has_its_place"
        => "tests/it/catalogue.rs ten_faults_are_told_in_one_run";
    "a balloon bursts" | "a pressure past rated burst is read off a chart"
        | "rows past rated burst are never used; a typed pressure past it is asked about"
        | "rows-to-rated-burst": "tests/it/catalogue.rs rows_past_rated_burst_are_checked_and_never_used"
        => "tests/it/charts.rs out_of_reach_the_value_asked_for_is_null",
           "tests/it/mistakes.rs a_pressure_past_rated_burst_is_asked_about_and_one_out_of_all_reason_refused";
    "diameter and length are exchanged" | "28 and 2.8 are one slip apart"
        | "lengths and diameters are types with ranges; length before diameter calls nothing"
        | "diameter-in-range": "tests/it/mistakes.rs length_before_diameter_calls_nothing"
        => "tests/it/mistakes.rs a_decimal_slip_is_refused_with_what_is_believed";
    "a value in another unit" | "French typed for millimetres"
        | "refused with the field named"
        | "french-refused": "tests/it/mistakes.rs french_typed_for_millimetres_is_refused_with_the_field_named";
    "a vessel is judged by the wrong border" | "nobody says how it was measured"
        | "a diameter whose method or border is not said is refused"
        | "lumen-inside-eem": "src/lesion/check_tests.rs the_lumen_lies_inside_the_eem"
        => "src/lesion/check_tests.rs a_diameter_whose_method_is_not_said_is_refused";
    "one box is called twice" | "Enter pressed twice, or a key held down"
        | "a second Enter calls nothing; a held key counts once"
        | "held-key-counts-once": "src/label/burst.rs a_key_that_is_held_down_counts_once"
        => "tests/it/mistakes.rs enter_pressed_twice_calls_once";
    "the last piece is promised twice" | "two calls of one size"
        | "pieces are promised in the order of calls, and the last one is said"
        | "pieces-promised": "tests/it/shelf.rs waiting_calls_have_pieces_promised_and_the_last_is_said";
    "a called box vanishes into a delivery" | "it is scanned while boxes are received"
        | "a case that waits for a box has the scanner; a bar says where a scan goes; nothing is written before the sum is seen"
        | "case-has-the-scanner": "tests/it/tally.rs a_case_that_waits_for_a_box_has_the_scanner"
        => "tests/it/tally.rs fifty_boxes_in_a_row_are_one_entry_and_only_after_their_sum_was_seen";
    "a piece is on the shelf twice" | "a delivery is scanned twice"
        | "a serial number counts once, and not while it is on the shelf"
        | "serial-counts-once": "src/shelf/tally/tests.rs a_serial_number_counts_once_and_not_while_it_is_on_the_shelf";
    "a perforation, and the covered stent does not pass" | "the guide in use is too small"
        | "bail-out is one key away and says the guide each one needs"
        | "guide-of-covered-stent": "tests/it/shelf.rs bail_out_says_which_guide_a_covered_stent_needs";
    "one physical box is counted twice" | "it is scanned at hand and again when it is opened"
        | "the same piece is the same box; a broken seal stays broken"
        | "opened-stays-opened": "tests/it/record.rs a_broken_seal_stays_broken"
        => "tests/it/readback.rs a_box_at_hand_scanned_again_is_the_same_box";
    "an opened box is missing from the record" | "an unknown or uncalled box, or a hurry"
        | "recording is never refused; every opened box is counted once; sign-off with something open asks why"
        | "unused-box-is-asked-again": "tests/it/case_told.rs what_was_not_used_and_is_used_after_all_is_asked_about_again"
        | "sign-off-asks-why": "tests/it/mistakes.rs no_key_alone_signs_off_and_sign_off_with_something_open_asks_why"
        => "tests/it/record.rs every_opened_box_is_counted_once",
           "tests/it/mistakes.rs an_unknown_box_stops_and_a_box_without_a_call_is_one_key";
    "the count is wrong after a correction" | "an entry is struck out or written twice"
        | "boxes are counted anew from what stands; what has lost its hold is told, never dropped"
        | "strikes-fall-only-on-what-stands": "tests/it/accounting.rs what_is_unsettled_is_settled_by_new_entries"
        => "tests/it/accounting.rs the_equation_holds_at_every_step",
           "tests/it/accounting.rs whatever_is_struck_out_the_equation_holds";
    "a case is signed off unseen" | "a scanner that types slowly ends with Enter"
        | "Enter signs only a settled case, and only straight after its screen was opened"
        | "sign-off-only-fresh": "tests/it/mistakes.rs a_settled_case_is_signed_by_two_keys_and_not_by_a_slow_scanner";
    "bare vessel between two stents goes unseen" | "lengths and overlaps are added up in the head"
        | "the sum stands beside what is typed; a gap is told; nothing is added up that is not known"
        | "gap-said": "tests/it/overlap.rs a_gap_lies_bare_and_edge_to_edge_is_no_overlap"
        => "tests/it/overlap.rs what_is_no_row_is_not_added_up";
    "the case is lost" | "a power cut, a kill, a closed terminal"
        | "on disk, synced, before the screen says so; the case goes on where it was"
        | "synchronous-full": "src/store/tests.rs each_commit_is_synced"
        => "tests/it/faults_kill.rs killed_a_thousand_times_nothing_acknowledged_is_lost",
           "tests/it/faults_kill.rs killed_in_the_middle_of_every_write_nothing_acknowledged_is_lost",
           "tests/it/faults_terminal.rs every_way_out_in_the_middle_of_a_case_keeps_it_and_says_how_to_go_on",
           "tests/it/mistakes.rs killed_in_the_middle_the_case_goes_on_where_it_was";
    "an entry is believed to be saved" | "the disk is full, or fails, at any write"
        | "an entry is there whole or not at all; NOT SAVED stands on every screen, and beside each entry that waits"
        | "drafts-kept": "tests/it/faults_screens.rs each_entry_that_waits_is_marked_where_it_is_shown_and_listed_in_words"
        => "tests/it/faults_disk.rs an_entry_is_there_whole_or_not_at_all",
           "tests/it/faults_disk.rs a_command_of_many_pages_is_there_whole_or_not_at_all",
           "tests/it/faults_screens.rs every_screen_and_everything_over_it_says_what_is_not_saved";
    "the room stops because the disk does" | "a full disk with the patient on the table"
        | "work goes on in memory, in order, and is saved by itself when the disk returns"
        | "work-goes-on-in-memory": "tests/it/faults_screens.rs a_whole_case_goes_on_without_the_disk_and_is_written_in_order_when_it_returns"
        => "tests/it/faults_screens.rs it_is_written_by_itself_when_the_disk_returns_and_nobody_is_disturbed",
           "tests/it/faults_terminal.rs the_disk_fills_up_under_the_program_and_it_goes_on_and_saves_by_itself_when_there_is_room";
    "what waits for the disk is lost with the program" | "a signal, or somebody leaves"
        | "leaving asks; what waits goes to a file elsewhere and is taken in again, once"
        | "leaving-asks": "tests/it/faults_screens.rs leaving_asks_and_offers_a_file_elsewhere"
        => "tests/it/faults_terminal.rs what_is_not_saved_when_the_program_is_ended_is_kept_in_a_file_and_taken_in_once",
           "tests/it/faults_files.rs a_file_of_what_is_not_saved_is_taken_in_once_and_in_its_order";
    "an entry is written twice" | "killed between the commit and its confirmation"
        | "a command's id is made before its commit; again it is told and not doubled; what no screen has shown is told at the start"
        | "command-written-once": "tests/it/faults_kill.rs what_was_committed_and_never_confirmed_is_told_and_not_doubled"
        => "tests/it/faults_screens.rs what_was_saved_and_perhaps_not_seen_is_told_at_the_start",
           "src/store/tests.rs the_same_command_again_writes_nothing";
    "entries go into a file that nobody finds" | "the journal is deleted, moved or replaced while it is open"
        | "its place is looked at before and after each commit; one key puts it back whole"
        | "place-looked-at": "tests/it/faults_place.rs another_journal_in_its_place_is_noticed_and_not_touched"
        => "tests/it/faults_place.rs a_journal_deleted_under_the_program_is_noticed_and_put_back_whole",
           "tests/it/faults_terminal.rs a_journal_deleted_under_the_program_is_put_back_when_it_ends";
    "the end of the journal is missing" | "it was cut off, or an older backup lies in its place"
        | "number and hash of the entry shown last are kept beside it, and compared at the start"
        | "mark-of-last-shown": "tests/it/faults_place.rs an_older_journal_than_the_one_shown_last_is_told_at_the_start"
        => "tests/it/faults_place.rs a_log_cut_at_any_length_leaves_whole_commands_from_the_first_on";
    "a page of the journal goes bad" | "a failing disk"
        | "the chain and the file are checked; a change is told, or changes nothing that is read"
        | "file-checked": "tests/it/faults_place.rs each_page_in_turn_corrupted_is_told_or_changes_nothing"
        => "tests/it/faults_place.rs a_journal_cut_at_any_page_is_told";
    "the record is altered later" | "somebody edits the file"
        | "guards in the table and a hash chain that names the first entry that does not hold"
        | "hash-checked": "src/store/tests.rs every_changed_column_is_named"
        => "src/store/tests.rs every_attack_on_a_written_entry_is_refused",
           "src/journal/chain/tests.rs the_chain_is_sha_256_of_the_previous_hash_and_the_body";
    "two screens write over each other" | "control room and bedside at once"
        | "they write in turn into one chain"
        | "writers-wait": "tests/it/crash.rs two_programs_at_once_keep_one_chain"
        => "src/store/tests.rs a_second_program_sees_what_the_first_wrote_and_can_not_write";
    "things stand in the wrong order" | "the clock is set back in the middle of a case"
        | "the order is the sequence, never the clock; the jump is written down, and no duration shrinks"
        | "order-by-sequence": "tests/it/hazards.rs a_clock_that_goes_back_changes_no_order"
        => "tests/it/faults_place.rs a_clock_set_back_is_written_down_once_and_the_order_stays",
           "tests/it/faults_screens.rs a_clock_that_is_set_back_is_said_and_no_duration_shrinks";
    "a newer journal is spoilt" | "an older program opens it"
        | "it is refused and left as it was"
        | "later-version-refused": "src/store/tests.rs a_later_version_is_refused_and_left_as_it_was";
    "an earlier journal can not be read any more" | "the program is renewed"
        | "a file of every earlier version is kept and read; steps in one commit, a copy before them"
        | "copy-before-migration": "src/store/migrate.rs an_earlier_format_comes_to_the_later_one_step_by_step_and_keeps_every_entry"
        => "tests/it/faults_backup.rs a_journal_of_every_version_so_far_is_read_whole_and_goes_on",
           "src/store/migrate.rs a_step_that_fails_leaves_the_journal_as_it_was";
    "the backup is of no use" | "it was made while the room works, or cut short"
        | "SQLite's own copy, checked entry by entry, in one file; put in the journal's place it goes on"
        | "failed-backup-removed": "tests/it/faults_disk.rs a_backup_is_whole_or_taken_away"
        => "tests/it/faults_backup.rs a_backup_while_others_write_is_whole_and_goes_on_in_the_journals_place";
    "a person's data in the journal" | "the label of a patient is scanned"
        | "refused, never echoed, no byte kept"
        | "persons-label-not-kept": "tests/it/readback.rs nothing_of_a_refused_label_is_kept_but_its_bytes_and_nothing_at_all_of_a_persons"
        => "tests/it/labels.rs personal_data_is_never_echoed";
    "a person's story in what is handed over" | "a reason is typed as a long text"
        | "the export warns of every text longer than a line; FHIR takes no typed text"
        | "long-text-named": "tests/it/lookback.rs a_text_longer_than_a_line_is_named_but_not_repeated"
        => "tests/it/fhir.rs the_collection_is_what_r4_demands";
    "a lot changes in a spreadsheet, or a cell is run" | "a spreadsheet guesses types and formulas"
        | "a text that would not stay one gets an apostrophe"
        | "formula-made-harmless": "src/intake/spreadsheet.rs a_formula_is_made_harmless"
        => "src/intake/spreadsheet.rs what_a_spreadsheet_would_change_stays_a_text";
    "half a record is filed" | "killed, or the disk is full, while it is written"
        | "written beside its place and renamed when whole; the earlier one stays"
        | "written-beside-and-renamed": "tests/it/hazards.rs a_record_that_can_not_be_written_leaves_the_earlier_one"
        => "tests/it/faults_files.rs a_file_is_never_there_by_half_when_killed",
           "tests/it/faults_files.rs what_a_command_writes_is_there_whole_or_as_it_was",
           "tests/it/faults_files.rs a_room_is_laid_whole_or_laid_again";
    "a state is not seen" | "no colour, or a reader who does not tell two apart"
        | "glyphs and words, never colour alone"
        | "forms-without-colour": "tests/it/screens.rs without_colour_and_without_unicode_nothing_is_lost_but_the_ink";
    "the terminal is left unusable" | "a signal, a hang-up"
        | "it is restored on every way out"
        | "terminal-closed": "tests/it/terminal.rs signals_leave_the_terminal_as_it_was";
};
