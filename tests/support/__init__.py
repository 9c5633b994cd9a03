"""What helps the tests, by what it is for. A test imports a helper by its whole name, `tests.support.NAME`.

The controller alone
    scripted              a clock, a camera and a judge that do what a test says; `Studio` is a shoot of them
    memory_log            the log in memory
    left_frames           frames left in the middle, and what is planned about them
    ears                  hears the controller's events in a test's own loop
    stacks                which functions of ours stand on a stack
    traced_host           the camera's process, which tells who called the release
    replaced_sentences    a plugin of pytest that replaces every sentence of the program

Screens
    running_screen        the app under Textual's pilot: keys in, events in, text out
    reshoot_screen        a log with a reference, and the match screen over it
    scripted_table        a table that keeps the acts and tells what a test says
    played_table          the real controller on a scripted camera, as the table behind the screens
    played_bench          the bench over it: keys in, what camera, log and screen make of them out
    draft_bench           as much of the bench as one mode that is tried alone sees
    played_series         a focus series shot before, released once more over it
    at_ledger             the ledger over a log of a dozen frames
    bench_events          what the controller would tell in the course of a few frames
    live_at_bench         live frames for a running bench, 15 a second by the test's clock
    approved_screens      the approved pictures of the main screens, compared and written anew
    screen_picture        a screen as cells, as SVG and back, and compared with another
    bench_picture         the README's picture of the bench, played and written anew
    still_program, typed_at_bench, live_screen_program, mix_program, painting_program
                          the bench as a program, for what needs a true terminal

Terminals, browsers, processes and users
    terminal_program      a program in a pseudo-terminal
    terminal_screen       what a person sees in it
    browser               Chromium without a window
    served_page           the tablet page on loopback
    stillset_program      `stillset …` as a process with an account of its own
    in_process            `stillset …` in this process
    plan_answers          `stillset plan …` in this process
    long_day              a shoot by the command line that many tests go on with
    killed_program        a program that is killed during a release
    slow_kit              a kit whose light takes ten minutes to charge
    echoing_process       a child for the tests of `session.system.process`
    lesser_user           permissions as an ordinary user meets them
    own_mounts            small and read-only disks that only the test sees
    virtual_camera        pictures in the virtual USB camera of the gphoto2 wheel
    own_usb               a USB bus that only the test sees, with cameras that can't be opened

Log and archive
    fresh_log             an empty log, copied
    log_samples, order_samples
                          invented places, set-ups, frames and orders
    changed_set_ups       a set-up, and the same once for each field with that one changed
    written_log           a log with a few frames
    log_of_files          a log of frames whose files are there
    station_logs          logs of two stations
    postgres_server       a PostgreSQL server for the archive, with a cable that can be cut
    archive_fixtures      that server, empty archives and stations, for `conftest.py`
    kept_schema           keeps a log and the archive's SQL before their tables change
    kept_whole            that nothing was lost
    flipped_bits          logs with flipped bits
    hostile_texts         texts that try to be more than text
    crash_station, crash_camera, crash_disk
                          a station that can be stopped between any two steps, with a disk that forgets

Camera and simulated bench
    mock_camera_program, mock_process
                          the simulated camera as a program, and its hands
    camera_bench          cameras before a tiny table, computers, hands
    tiny_table            a table with numbered noise
    bare_body             a camera body with nothing around it
    bare_responder        a camera's answers without a wire, its own or a played body's
    gphoto_host           libgphoto2 as another computer would drive it
    camera_user           somebody who uses a camera through `RemoteCamera`
    bodies                plays each camera summary of a folder and shoots with it
    frame_of_each_file    cameras whose announcements go wrong
    bare_release          the least that a release takes
    simulated_bench       a set-up, what the planner says of it, and the bench that it stands on
    still_life, card_in_picture
                          shots of that bench, and measurements on its pictures by simple means
    mock_set              frames of it as files and as the checks' material
    solo_sets             a set of several lights, each with a switch
    focus_series, series_truth
                          a leaning piece, shot plane by plane, with the truth of every place
    reshoot_table         a set that was moved, and hands that follow the words of a reshoot, a little wrong
    reshot_log            a log in which it was shot again on another day

Pictures and live view
    made_pictures         photographs blurred, relit, noisy, moved and coded
    tinted_pairs          photographs relit and tinted, as frame and reference
    live_pictures         live frames from photographs
    live_shoot            a shoot with live view over libgphoto2
    live_hands, live_focus_runs, live_decays
                          hands, focusing and swinging before live view, with the truth at hand
    judge_cost            what judging a picture costs

Optics and plans by other routes
    paraxial_trace, plate_trace, traced_lenses, traced_builds
                          rays through lenses and plates
    pupil_fft             blur of a sampled pupil, by FFT
    plan_brute_force      every arrangement and stop tried anew
    plan_kits             kits for the planner
    random_plans, random_set_ups
                          random wishes and set-ups, the same for a number
    comparisons           how near plan and picture must come

The suite itself
    examples              how many examples a property is tried with
    measures              measures of how the source reads
    mutants               the source changed in small places, and what no test notices
"""
