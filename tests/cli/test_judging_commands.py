"""Quality, references and judgements by command: what is said, what is kept, and what it does to the numbers."""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from calling import Call
from scipy.signal import butter, sosfiltfilt

pytestmark = pytest.mark.slow  # kept out of the fast loop

RATE = 1000
MUSCLES = ("vastus medialis", "rectus femoris")


def _write(path: Path, levels: list[tuple[float, float]], seed: int) -> Path:
    """A text file of two EMG columns (mV) of these (level, seconds) one after the other, and a height that rests."""
    draw = np.random.default_rng(seed)
    level = np.concatenate([np.full(round(RATE * s), value) for value, s in levels])
    emg = draw.normal(0, 1, (2, len(level))) * level
    rows = ["\t".join(f"{value:.6f}" for value in (*pair, 1.0)) for pair in emg.T]
    path.write_text("\n".join(rows) + "\n")
    return path


def _filtered(path: Path, column: int) -> np.ndarray:
    values = np.loadtxt(path, delimiter="\t")[:, column]
    values = values - values.mean()
    shift = (np.sqrt(2) - 1) ** 0.25
    for kind, cutoff, factor in (("highpass", 20, shift), ("lowpass", 450, 1 / shift)):
        warped = np.arctan(np.tan(np.pi * cutoff / RATE) * factor) / np.pi * 2
        values = sosfiltfilt(butter(2, warped, kind, output="sos"), values)
    return np.asarray(values)


@pytest.fixture
def normalised(study: Path, phasemark: Call) -> Path:
    """The marked study with a quiet trial (T003) and two MVIC trials (T004, T005) of the same session."""
    folder = study.parent
    columns = folder / "columns.json"
    files = {
        "quiet": [_write(folder / "quiet.txt", [(0.01, 5)], 7)],
        "mvic": [
            _write(folder / "mvic1.txt", [(0.01, 2), (0.8, 3), (0.01, 4), (1.0, 3), (0.01, 2)], 8),
            _write(folder / "mvic2.txt", [(0.01, 2), (0.7, 3), (0.01, 2)], 9),
        ],
    }
    for kind, recordings in files.items():
        said = phasemark(
            "add",
            study,
            *recordings,
            "--participant",
            "P01",
            "--kind",
            kind,
            "--exercise",
            "hold",
            "--columns",
            columns,
        )
        assert said.code == 0, said.err
    return study


def _export(phasemark: Call, study: Path, name: str = "out") -> dict[str, pd.DataFrame]:
    folder = study.parent / name
    said = phasemark("export", study, "--to", folder)
    assert said.code == 0, said.err
    return {path.stem: pd.read_csv(path, low_memory=False) for path in folder.glob("*.csv")}


def _moving_rms(values: np.ndarray, count: int) -> np.ndarray:
    return np.sqrt(np.convolve(values**2, np.ones(count) / count, mode="valid"))


def test_every_segment_is_stated_in_percent_of_the_highest_half_second(normalised: Path, phasemark: Call) -> None:
    """The reference by plain numpy: highest RMS over 501 samples of the filtered MVIC trials; values over it."""
    tables = _export(phasemark, normalised)
    folder = normalised.parent
    for column in range(len(MUSCLES)):
        highest = max(_moving_rms(_filtered(folder / f"mvic{n}.txt", column), 501).max() for n in (1, 2))
        rows = tables["segments"].query(f"muscle == {MUSCLES[column]!r}")
        assert rows["reference_rms_mV"].unique() == pytest.approx([highest], rel=1e-9)
        assert rows["rms_percent"].to_numpy() == pytest.approx(100 * rows["rms_mV"].to_numpy() / highest, rel=1e-9)
        noise = np.sqrt(np.mean(_filtered(folder / "quiet.txt", column) ** 2))
        assert rows["noise_rms_mV"].unique() == pytest.approx([noise], rel=1e-9)
        less = np.sqrt(np.maximum(rows["rms_mV"] ** 2 - noise**2, 0))
        assert rows["rms_less_noise_mV"].to_numpy() == pytest.approx(less.to_numpy(), rel=1e-6)
    attempts = tables["attempts"].query("muscle == 'vastus medialis'")
    assert attempts["trial"].tolist() == ["T004", "T004", "T005"]  # two efforts in the first trial
    assert attempts["used"].tolist() == ["no", "yes", "no"]


def test_an_artefact_in_a_quiet_trial_is_no_noise_of_the_baseline(normalised: Path, phasemark: Call) -> None:
    """A cable that swings for half a second: the longest stretch without it is the baseline, by plain numpy."""
    folder = normalised.parent
    values = np.loadtxt(folder / "quiet.txt", delimiter="\t")
    values[1000:1500, 0] += 2.0 * np.sin(np.arange(500) / RATE * 2 * np.pi * 4)
    np.savetxt(folder / "swung.txt", values, fmt="%.6f", delimiter="\t")
    about = ("--participant", "P01", "--kind", "quiet", "--exercise", "hold", "--columns", folder / "columns.json")
    assert phasemark("exclude", normalised, "--trial", "T003", "--reason", "another one").code == 0
    assert phasemark("add", normalised, folder / "swung.txt", *about).code == 0
    assert "vastus medialis (left), movement artefact" in phasemark("quality", normalised, "--trial", "T006").out
    rows = _export(phasemark, normalised)["segments"].query("muscle == 'vastus medialis'")
    calm = _filtered(folder / "swung.txt", 0)[2000:]
    assert rows["noise_rms_mV"].iloc[0] == pytest.approx(np.sqrt(np.mean(calm**2)), rel=0.05)


def test_noise_is_taken_off_value_and_reference_alike(normalised: Path, phasemark: Call) -> None:
    """sqrt(rms^2 - noise^2) over sqrt(reference^2 - noise^2), 100 times; check value A6 and A8 (closed form)."""
    plain = _export(phasemark, normalised, "plain")["segments"]
    assert phasemark("settings", normalised, "baseline.subtract=yes").code == 0
    rows = _export(phasemark, normalised, "less")["segments"]
    noise = rows["noise_rms_mV"]
    expected = (
        100
        * np.sqrt(np.maximum(plain["rms_mV"] ** 2 - noise**2, 0))
        / np.sqrt(plain["reference_rms_mV"] ** 2 - noise**2)
    )
    assert rows["rms_percent"].to_numpy() == pytest.approx(expected.to_numpy(), rel=1e-9, nan_ok=True)
    assert (rows["rms_percent"] <= plain["rms_percent"] + 1e-12).all()


def test_a_gain_leaves_percent_as_it_is(normalised: Path, phasemark: Call) -> None:
    """Scale invariance (check value A8): the same recordings stated in uV, a thousandth of the amplitude."""
    before = _export(phasemark, normalised, "before")["segments"]
    folder = normalised.parent
    columns = json.loads((folder / "columns.json").read_text())
    for channel in columns["emg"]:
        channel["unit"] = "uV"
    (folder / "uv.json").write_text(json.dumps(columns))
    again = folder / "again"
    assert phasemark("new", again).code == 0
    for kind, names in (("task", ["1", "2"]), ("quiet", ["quiet"]), ("mvic", ["mvic1", "mvic2"])):
        files = [folder / f"{name}.txt" for name in names]
        told = ("--participant", "P01", "--exercise", "squat" if kind == "task" else "hold", "--kind", kind)
        assert phasemark("add", again, *files, *told, "--columns", folder / "uv.json").code == 0
    assert phasemark("mark", again).code == 0
    after = _export(phasemark, again, "after")["segments"]
    assert after["rms_mV"].to_numpy() == pytest.approx(before["rms_mV"].to_numpy() / 1000, rel=1e-9)
    assert after["rms_percent"].to_numpy() == pytest.approx(before["rms_percent"].to_numpy(), rel=1e-9)


def test_references_are_told_with_their_error_and_what_to_look_at(normalised: Path, phasemark: Call) -> None:
    said = phasemark("references", normalised)
    assert said.code == 0
    assert [line.split(":")[0] for line in said.out.splitlines()] == [f"P01, session 1, {m} (left)" for m in MUSCLES]
    assert "from T004" in said.out
    assert "sampling error" in said.out
    assert "The best two attempts are" in said.err


def test_an_attempt_is_chosen_with_a_reason_and_the_rule_comes_back(normalised: Path, phasemark: Call) -> None:
    about = ("--participant", "P01", "--muscle", "vastus medialis")
    assert phasemark("reference", normalised, *about, "--trial", "T005").sentence.startswith(
        "A reference chosen by hand"
    )
    assert phasemark("reference", normalised, *about, "--trial", "T005", "--reason", "first ones cramped").code == 0
    row = _export(phasemark, normalised)["references"].iloc[0]
    assert (row["used"], row["chosen_by"], row["reason"]) == ("T005#1", "R1", "first ones cramped")
    assert phasemark("reference", normalised, *about, "--take-back").out == "Done.\n"
    assert _export(phasemark, normalised)["references"].iloc[0]["used"] == "T004#2"
    assert phasemark("reference", normalised, *about, "--trial", "T001", "--reason", "x").sentence.startswith(
        "Trial T001 is no mvic or reference trial"
    )


def test_an_mvic_position_serves_the_muscles_that_the_settings_say(normalised: Path, phasemark: Call) -> None:
    assert phasemark("settings", normalised, "mvic[hold]=rectus femoris").code == 0
    tables = _export(phasemark, normalised)
    medialis, rectus = (tables["segments"].query("muscle == @m")["rms_percent"] for m in MUSCLES)
    assert medialis.isna().all()
    assert rectus.notna().all()
    said = phasemark("references", normalised)
    assert "vastus medialis (left): There is no reference; this muscle is reported in mV." in said.err
    assert "vastus medialis" in phasemark("settings", normalised, "mvic[hold]=soleus").sentence


def test_an_interval_is_the_baseline_until_it_is_taken_away(normalised: Path, phasemark: Call) -> None:
    """Half a second of the quiet trial, by plain numpy; then the whole of it again."""
    place = ("interval", normalised, "--trial", "T003", "--purpose", "baseline")
    assert phasemark(*place, "--begin", "1", "--end", "1.5", "--reason", "nobody moved").out == "Done.\n"
    found = _export(phasemark, normalised)["segments"].query("muscle == 'vastus medialis'")["noise_rms_mV"].unique()
    quiet = _filtered(normalised.parent / "quiet.txt", 0)
    assert found == pytest.approx([np.sqrt(np.mean(quiet[1000:1500] ** 2))], rel=1e-9)
    assert phasemark(*place, "--take-away").out == "Done.\n"
    again = _export(phasemark, normalised)["segments"].query("muscle == 'vastus medialis'")["noise_rms_mV"].unique()
    assert again == pytest.approx([np.sqrt(np.mean(quiet**2))], rel=1e-9)
    assert "ends after the recording" in phasemark(*place, "--begin", "1", "--end", "9").sentence
    assert "cannot run from 4.000 to 2.000 s" in phasemark(*place, "--begin", "4", "--end", "2").sentence
    assert "two times in seconds" in phasemark(*place, "--begin", "a", "--end", "2").sentence
    assert "needs --begin and --end" in phasemark(*place).sentence


def test_a_plateau_in_a_trial_that_serves_no_reference_is_said_to_have_no_use(
    normalised: Path, phasemark: Call
) -> None:
    of_mvic, of_task = (
        phasemark("interval", normalised, "--trial", trial, "--purpose", "plateau", "--begin", "1", "--end", "3")
        for trial in ("T004", "T001")
    )
    assert of_mvic.code == of_task.code == 0
    assert of_mvic.err == ""
    assert "no use in a task trial" in of_task.err


def test_no_window_that_fits_any_attempt_is_said_to_be_why_there_is_no_reference(
    normalised: Path, phasemark: Call
) -> None:
    assert phasemark("settings", normalised, "normalisation.window_s=50").code == 0
    said = phasemark("references", normalised).err
    assert "No full window of 50 s without gaps fits in any of the" in said


def test_each_trial_that_made_a_reference_is_named_once(normalised: Path, phasemark: Call) -> None:
    assert phasemark("settings", normalised, "normalisation.approach=mean of the task").code == 0
    named = [line.partition(", from ")[2].split(", ") for line in phasemark("references", normalised).out.splitlines()]
    assert named
    assert all(trials[0].startswith("T0") and len(trials) == len(set(trials)) for trials in named)


def test_an_attempt_with_an_artefact_is_left_out_until_it_is_accepted(normalised: Path, phasemark: Call) -> None:
    """An amplifier driven to its rail: the next best attempt is taken, and said; accepted, the clipped one is."""
    folder = normalised.parent
    values = np.loadtxt(folder / "mvic1.txt", delimiter="\t")
    values[:, 0] = np.clip(values[:, 0] * 3, -1.5, 1.5)
    path = folder / "mvic3.txt"
    np.savetxt(path, values, fmt="%.6f", delimiter="\t")
    told = ("--participant", "P01", "--exercise", "hold", "--kind", "mvic", "--columns", folder / "columns.json")
    assert phasemark("add", normalised, path, *told).code == 0
    said = phasemark("references", normalised)
    assert "was left out: clipping inside its window" in said.err
    assert "vastus medialis (left), clipping" in phasemark("quality", normalised, "--trial", "T006").out
    about = ("accept", normalised, "--trial", "T006", "--check", "clipping", "--muscle", "vastus medialis")
    assert phasemark(*about, "--reason", "looked at it").out == "Done.\n"
    assert "which was accepted" in phasemark("references", normalised).err
    assert "Accepted by R1: looked at it." in phasemark("quality", normalised, "--trial", "T006").out
    rows = _export(phasemark, normalised)["quality"].query("trial == 'T006' and check == 'clipping'")
    assert rows["accepted"].tolist() == ["yes", "no"]
    assert phasemark(*about, "--take-back").out == "Done.\n"
    assert "There is no check 'noise'" in phasemark(*about[:4], "--check", "noise", "--reason", "x").sentence


def test_a_reference_is_borrowed_from_another_session_only_with_a_reason(normalised: Path, phasemark: Call) -> None:
    folder = normalised.parent
    told = ("--participant", "P01", "--exercise", "squat", "--session", "2", "--columns", folder / "columns.json")
    assert phasemark("add", normalised, folder / "1.txt", *told).code == 0
    assert phasemark("mark", normalised).code == 0
    assert "session 2, vastus medialis (left): There is no reference" in phasemark("references", normalised).err
    about = ("reference", normalised, "--participant", "P01", "--session", "2", "--muscle", "vastus medialis")
    assert "needs its reason" in phasemark(*about, "--from-session", "1").sentence
    assert "has no other session '3'" in phasemark(*about, "--from-session", "3", "--reason", "x").sentence
    assert phasemark(*about, "--from-session", "1", "--reason", "same tape marks").out == "Done.\n"
    assert "where electrodes were placed anew; taken by R1: same tape marks" in phasemark("references", normalised).err
