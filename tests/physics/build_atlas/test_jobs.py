"""The builder: restartable, the same bytes whatever the order and number of jobs."""

from pathlib import Path

import numpy as np
import pytest

from cardgen.lane.rack import PIN_NUMBERS, Leave
from cardgen.physics.build_atlas import chunks, draws, simulate, touches
from cardgen.physics.build_atlas.__main__ import main
from cardgen.physics.build_atlas.chunks import Chunk
from cardgen.physics.build_atlas.draws import DRAWS, Cell, cell_draws
from cardgen.physics.build_atlas.jobs import KINDS, BuildError, Job, do_job, jobs_of
from cardgen.physics.build_atlas.pinfall import run
from cardgen.physics.build_atlas.rackfall import (
    even_weight,
    frequent,
    pocket_weight,
    runs_shares,
)
from cardgen.physics.build_atlas.rackworld import RackWorld
from cardgen.physics.build_atlas.simulate import RACK_ANGLES, rack_slices, simulate_leave


def test_files_do_not_depend_on_order_or_number_of_jobs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    leaves = ["3-10", "7-10"]
    for folder, jobs, order in (("one", "1", leaves), ("two", "2", leaves[::-1])):
        main(["--chunks", str(tmp_path / folder), "--jobs", jobs, "--kinds", "estimate",
              "--only", *order])  # fmt: skip
    names = ["planar_2-7.npz", "planar_7-10.npz"]
    for folder in ("one", "two"):
        assert sorted(p.name for p in (tmp_path / folder).iterdir()) == names
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    assert "2/2" in capsys.readouterr().err


def test_what_is_done_is_not_done_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    job = Job("estimate", Leave.of(7, 10))
    do_job(job, tmp_path)
    written = (tmp_path / job.name).stat().st_mtime_ns
    main(["--chunks", str(tmp_path), "--kinds", "estimate", "--only", "7-10"])
    assert (tmp_path / job.name).stat().st_mtime_ns == written
    capsys.readouterr()
    monkeypatch.setattr(draws, "SEED", draws.SEED + 1)
    with pytest.raises(SystemExit):
        main(["--chunks", str(tmp_path), "--kinds", "estimate", "--only", "7-10"])
    assert "planar_7-10.npz: was built with another seed" in capsys.readouterr().err


def test_a_wrong_command_line_is_one_clear_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for wrong, says in (
        (["--jobs", "0"], "--jobs: at least 1 (got 0)"),
        (["--only", "3-11"], "--only: pins are numbered 1 to 10"),
    ):
        with pytest.raises(SystemExit) as caught:
            main(["--chunks", str(tmp_path / "none"), *wrong])
        assert caught.value.code == 2
        assert says in capsys.readouterr().err
    assert not (tmp_path / "none").exists()
    with pytest.raises(BuildError, match="build with --kinds rack first"):
        list(jobs_of("frequent", tmp_path, set()))


def test_every_class_of_every_size_has_its_job(tmp_path: Path) -> None:
    counts = {k: len(list(jobs_of(k, tmp_path, set()))) for k in ("single", "pair", "triple")}
    assert counts == {"single": 6, "pair": 25, "triple": 64}
    assert len(list(jobs_of("rack", tmp_path, set()))) == len(list(rack_slices()))
    only = {Leave.of(2, 7)}
    assert [j.leave for j in jobs_of("pair", tmp_path, only)] == [Leave.of(2, 7)]


def test_a_chunk_holds_its_runs(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    leave = Leave.of(2, 8)
    places = range(-14, -11)
    monkeypatch.setattr(simulate, "place_cells", lambda _: places)
    monkeypatch.setattr(simulate, "angle_cells", lambda _: (1,))
    simulate_leave(leave).write(tmp_path / "chunk.npz")
    chunk = Chunk.read(tmp_path / "chunk.npz")
    world = RackWorld(leave, draws.BALLS[1])
    for j, place in enumerate(places):
        runs = [
            run(world, d.arrival, d.surfaces, d.spots_m)
            for d in cell_draws(leave, Cell(1, 1, place))
        ]
        fell = np.array([r.fell for r in runs])
        by_ball = [r.touched == touches.BY_BALL for r in runs if r.fell.all()]
        bits = [bool(chunk.arrays["spares"][1, 0, j] >> d & 1) for d in range(DRAWS)]
        assert bits == fell.all(axis=1).tolist()
        assert chunk.arrays["felled"][1, 0, j].tolist() == fell.sum(axis=0).tolist()
        assert chunk.arrays["by_ball"][1, 0, j].tolist() == np.sum(by_ball, axis=0).tolist()
    for key in ("seed", "ranges", "versions", "code_sha256", "leave", "balls"):
        assert key in chunk.recipe


def test_the_code_s_hash_passes_over_words_and_layout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = Path(str(draws.__file__)).read_text(encoding="utf-8")
    versions = (
        source,
        source.replace('"""Return the sixteen runs of ``cell``."""', '"""Other words."""  # and'),
        source.replace("DRAWS = 16", "DRAWS = 17"),
    )
    hashes = []
    for k, text in enumerate(versions):
        path = tmp_path / f"draws{k}.py"
        path.write_text(text, encoding="utf-8")
        monkeypatch.setattr(draws, "__file__", str(path))
        hashes.append(chunks.code_hash())
    assert hashes[0] == hashes[1]
    assert hashes[0] != hashes[2]


def _slice(angle: int, left: list[int]) -> Chunk:
    arrays = {
        "left": np.array([left], np.uint16),
        "places": np.array([5], np.int16),
    }
    return Chunk(arrays, {"angle": angle})


def test_shares_of_leaves_add_up_and_count_only_the_angles_asked_for() -> None:
    tenpin, all_but_one = 1 << 9, (1 << 10) - 2
    left = [0, 0, 0, 0, 0, tenpin, tenpin, all_but_one]
    shares = runs_shares([_slice(2, left), _slice(0, [1] * 8)], (2, 3))
    assert shares == pytest.approx({None: 0.625, Leave.of(10): 0.25, Leave(PIN_NUMBERS[1:]): 0.125})
    assert frequent(shares, 4) == [Leave(PIN_NUMBERS[1:])]
    assert frequent(shares, 1)[0] == Leave.of(7)  # the class's name is the smaller mirror image
    assert frequent(shares, 1, 0.2) == [Leave.of(7)]
    far = Chunk(
        {"left": np.array([[tenpin], [0]], np.uint16), "places": np.array([5, 20], np.int16)},
        {"angle": 3},
    )
    assert runs_shares([far], (3,))[Leave.of(10)] > 0.99
    assert runs_shares([far], (3,), even_weight)[Leave.of(10)] == pytest.approx(0.5)
    weight = pocket_weight(np.arange(-24, 24))
    assert weight.argmax() == np.arange(-24, 24).tolist().index(5)
    assert set(RACK_ANGLES) <= {0, 1, 2, 3}
    assert set(KINDS) == {"rack", "single", "pair", "triple", "frequent", "estimate"}
