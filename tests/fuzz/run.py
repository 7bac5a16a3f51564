"""A million bad inputs for every reader of something from outside, guided by what they reach.

    pip install -e ".[test,fuzz]" && python tests/fuzz/run.py

For each target (`fuzz.targets.TARGETS`) atheris (Apache-2.0) changes good inputs, keeps those
that reach code not reached before, and goes on from them; the same seed makes the same inputs.
`--share .01` takes a hundredth, a name takes that target alone, `--seed` another start. What a
reader does not refuse in words ends the run with the input, kept in the folder of `--keep`.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path
from random import Random
from typing import Any

TESTS = Path(__file__).parents[1]
#: Whose ways are watched; what is compiled cannot be.
READERS = [f"advisor.{floor}" for floor in ("weather", "garden", "cli", "page", "show", "units")]


def main() -> None:
    """Try every target in a process of its own, and print what came of it."""
    told = _arguments()
    if told.alone:
        _alone(told)
    sys.path.insert(0, str(TESTS))
    from fuzz.targets import TARGETS

    names = told.names or list(TARGETS)
    print(f"{'target':<10}{'inputs':>10}{'taken':>10}{'refused':>10}{'seconds':>9}", flush=True)
    total, worst = 0, 0
    for name in names:
        with tempfile.TemporaryDirectory(prefix="advisor-fuzz-") as folder:
            runs = max(int(TARGETS[name][1] * told.share), 100)
            line = [sys.executable, __file__, "--alone", folder, "--runs", str(runs), "--seed",
                    str(told.seed), "--keep", str(told.keep), name]
            began = time.perf_counter()
            ended = subprocess.run(line, check=False, capture_output=True, text=True)
            spent = time.perf_counter() - began
            counts = json.loads((Path(folder) / "counts.json").read_text())
        total += counts["inputs"]
        print(f"{name:<10}{counts['inputs']:>10}{counts['taken']:>10}"
              f"{counts['inputs'] - counts['taken']:>10}{spent:>9.0f}", flush=True)
        if ended.returncode or counts["inputs"] < runs:
            worst = 1
            print(ended.stdout[-6000:] or ended.stderr[-6000:], flush=True)
    print(f"{'together':<10}{total:>10}")
    sys.exit(worst)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("names", nargs="*")
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()))
    parser.add_argument("--runs", type=int, default=100, help=argparse.SUPPRESS)
    parser.add_argument("--alone", type=Path, help=argparse.SUPPRESS)
    return parser.parse_args()


def _alone(told: argparse.Namespace) -> None:
    """Try one target in this process; atheris ends it."""
    import atheris

    sys.path.insert(0, str(TESTS))
    folder, (name,) = told.alone, told.names
    with atheris.instrument_imports(include=READERS):
        from fuzz.targets import TARGETS

        target = TARGETS[name][0](folder)
        for seed in target.seeds:  # so that all they need is loaded here
            target.accepts(seed)
    (folder / "seeds").mkdir()
    for number, seed in enumerate(target.seeds):
        (folder / "seeds" / f"{number}").write_bytes(seed)
    counts: dict[str, int] = {"inputs": 0, "taken": 0}
    warnings.simplefilter("error")

    def one(data: bytes) -> None:
        counts["inputs"] += 1
        try:
            counts["taken"] += target.accepts(data)
        except BaseException:
            (told.keep / f"fault-{name}").write_bytes(data)
            raise
        finally:
            if counts["inputs"] >= told.runs or counts["inputs"] % 500 == 1:
                (folder / "counts.json").write_text(json.dumps(counts))

    def other(data: bytes, longest: int, seed: int) -> bytes:
        chance = Random(seed)
        if chance.randrange(6) == 0:  # what reached new code is mostly bad: now and then anew
            data = chance.choice(target.seeds)
        return target.changed(data, chance)[:longest]

    flags: list[Any] = [f"-runs={told.runs}", f"-seed={told.seed}", f"-max_len={target.longest}",
                        "-timeout=60", "-rss_limit_mb=4096", "-print_final_stats=1",
                        f"-artifact_prefix={told.keep}/", str(folder / "seeds")]
    atheris.Setup([sys.argv[0], *flags], one, custom_mutator=other)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
