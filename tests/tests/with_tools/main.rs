//! Tests that need a tool which not every machine has: an emulator, a compiler for small processors,
//! published libraries in Python. Where a tool lacks, the test is left out: it counts as ignored, and
//! its line says what brings the tool.
//!
//! A test is a function that stands in the list below, after what it needs. `#[test]` does nothing
//! here; one in `house` finds it.

mod cost;
mod emulated_pedal;
mod gates;
mod outside_alignment_rates;
mod outside_faults;
mod outside_human;
mod outside_quantiles;
mod outside_scores;
mod outside_statistics;
mod outside_tempo;
mod tools;

use libtest_mimic::{Arguments, Trial};
use tools::{CLIPPY, COMPILER, EMULATED, EMULATOR, MEASURED, OUTSIDE, PEDAL, SMALLEST, Tool};

/// A test, left out if something lacks that it needs.
fn trial(name: &'static str, needs: &[Tool], test: fn()) -> Trial {
    let run = move || {
        test();
        Ok(())
    };
    let trial = Trial::test(name, run);
    match needs.iter().find(|tool| !(tool.met)()) {
        Some(tool) => trial.with_kind(tool.left_out()).with_ignored_flag(true),
        None => trial,
    }
}

fn what_lacks_is_left_out_and_what_is_there_is_not() {
    let there = Tool { met: || true, ..EMULATOR };
    let lacks = Tool { met: || false, ..EMULATOR };
    assert!(!trial("one", &[there], || ()).has_ignored_flag());
    let there = Tool { met: || true, ..EMULATOR };
    let trial = trial("one", &[there, lacks], || ());
    assert!(trial.has_ignored_flag());
    assert!(trial.kind().starts_with("left out: "), "{}", trial.kind());
}

/// `needs => tests` in lines.
macro_rules! tests {
    ($($needs:expr => $($test:path),+;)+) => {
        vec![$($(trial(stringify!($test), &$needs, $test)),+),+]
    };
}

fn main() {
    let tests = tests![
        [] => cost::a_promise_that_does_not_hold_is_found,
            emulated_pedal::so_is_one_on_this_computer,
            emulated_pedal::in_ram::what_is_not_in_ram_is_found,
            emulated_pedal::share::the_first_crate_in_a_name_owns_it,
            emulated_pedal::sizes::a_table_that_is_a_quarter_off_or_lacks_a_row_is_refused,
            emulated_pedal::sizes::an_image_over_a_limit_is_refused,
            emulated_pedal::small::a_size_that_is_not_so_is_found,
            gates::a_changed_line_of_the_emulated_board_is_named,
            gates::a_missing_end_and_a_different_line_end_are_differences,
            gates::what_is_missing_has_an_exit_code_of_its_own,
            what_lacks_is_left_out_and_what_is_there_is_not,
            tools::what_lacks_is_said_with_what_brings_it;
        [EMULATOR, MEASURED] => cost::judging_costs_what_it_did,
            emulated_pedal::small::a_judge_in_little_ram_says_what_it_did;
        [MEASURED] => emulated_pedal::small::code_for_a_second_size_is_not_there_twice;
        [EMULATOR, EMULATED] => emulated_pedal::parity::the_pedal_and_the_program_keep_the_same,
            emulated_pedal::power::a_cut_costs_one_attempt_at_most_and_the_rest_is_fetched,
            emulated_pedal::sizes::the_stack_is_as_deep_as_it_was,
            emulated_pedal::a_practice_on_the_emulated_board_is_as_expected,
            gates::firmware_that_breaks_down_is_a_failure;
        [EMULATOR, SMALLEST] =>
            emulated_pedal::so_is_one_that_was_built_for_the_smallest_processor;
        [EMULATED, PEDAL] => emulated_pedal::sizes::images_are_as_large_as_they_were;
        [PEDAL] => emulated_pedal::in_ram::what_runs_while_flash_is_busy_is_in_ram,
            emulated_pedal::sizes::core_and_pedal_are_as_small_as_they_should_be;
        [COMPILER] => gates::an_image_that_allocates_is_not_built,
            gates::an_image_that_wants_an_operating_system_is_not_built;
        [CLIPPY] => gates::what_is_newer_than_the_promised_compiler_is_refused;
        [COMPILER, EMULATOR] =>
            gates::an_image_that_never_ends_is_stopped_and_called_a_failure;
        [OUTSIDE] => outside_alignment_rates::pairs_of_a_human_performance_are_found_among_many_mistakes,
            outside_faults::the_tolerance_leaves_one_pairing,
            outside_faults::mistakes_are_counted_as_in_truth_and_as_by_mir_eval,
            outside_human::the_file_is_as_described,
            outside_human::every_note_of_the_whole_piece_is_paired_as_in_the_reference,
            outside_human::a_score_at_another_tempo_changes_no_pair,
            outside_human::every_note_is_right_in_each_window_of_four_bars,
            outside_human::every_note_is_right_in_each_window_of_eight_bars,
            outside_quantiles::the_ranges_of_normal_values_are_right_to_a_hundredth,
            outside_quantiles::the_tables_of_the_judge_are_right_to_a_thousandth,
            outside_quantiles::the_cube_of_what_is_nearly_normal_is_right_to_one_in_a_hundred,
            outside_quantiles::what_is_surely_within_is_what_twice_the_limit_rarely_gives,
            outside_quantiles::the_distributions_of_the_bounds_are_right_to_a_millionth,
            outside_quantiles::the_best_test_of_scatter_is_that_of_the_sum_of_squares,
            outside_scores::the_suite_is_read_as_two_libraries_read_it,
            outside_scores::what_is_exported_is_read_with_the_same_notes,
            outside_scores::strings_and_frets_are_those_of_music21,
            outside_scores::printed_scores_become_studies,
            outside_scores::standard_midi_files_are_read_as_mido_reads_them,
            outside_statistics::statistics_are_scipys,
            outside_tempo::pace_and_start_are_scipys;
    ];
    let arguments = Arguments::from_args();
    libtest_mimic::run(&arguments, tests).exit();
}
