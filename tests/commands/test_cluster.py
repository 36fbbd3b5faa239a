"""
A county judged by a scheduler and two workers of dask.distributed, which run beside this test on the loopback.

Run with `pytest -m cluster`, where the extra `cluster` is installed.
"""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator

import pytest

from support.house_record import BAD, DEPARTMENT, GOOD, PACK
from support.running import PROJECT, Program

pytestmark = pytest.mark.cluster
distributed = pytest.importorskip("distributed")
RECORDS = 12
_LONGEST = 60.0


def until(holds) -> None:
    """Wait until something is so."""
    last = time.monotonic() + _LONGEST
    while not holds():
        assert time.monotonic() < last
        time.sleep(0.05)


@pytest.fixture
def county(tmp_path) -> Program:
    (tmp_path / "common.cylpack").write_text(PACK)
    (tmp_path / ".git").mkdir()
    for number in range(RECORDS):
        folder = tmp_path / f"d{number:02}"
        folder.mkdir()
        (folder / "department.cyl").write_text(DEPARTMENT.replace("house.cylpack", "../common.cylpack"))
        (folder / "cards.cyl").write_text(GOOD + (BAD if number % 3 else "cylindr K-2\n"))
    return Program(tmp_path, as_of="2026-11-25")


@pytest.fixture
def cluster(tmp_path_factory) -> Iterator[tuple[str, list[subprocess.Popen]]]:
    """The address of a scheduler, and its two workers."""
    folder = tmp_path_factory.mktemp("cluster")
    started = []

    def start(module: str, *arguments: str) -> subprocess.Popen:
        with open(folder / "log", "ab") as log:
            command = [sys.executable, "-m", f"distributed.cli.{module}", "--no-dashboard", *arguments]
            process = subprocess.Popen(command, cwd=folder, stdout=log, stderr=log, env={**os.environ, "PYTHONPATH": str(PROJECT)})  # fmt: skip
        started.append(process)
        return process

    try:
        start("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", "scheduler.json")
        until((folder / "scheduler.json").exists)
        worker = ("--scheduler-file", "scheduler.json", "--host", "127.0.0.1", "--no-nanny", "--nthreads", "1")
        workers = [start("dask_worker", *worker, "--name", f"w{number}") for number in range(2)]
        with distributed.Client(scheduler_file=str(folder / "scheduler.json"), timeout=_LONGEST) as client:
            client.wait_for_workers(2, timeout=_LONGEST)
            yield client.scheduler.address, workers
    finally:
        for process in started:
            process.kill()
            process.wait()


@pytest.mark.parametrize("form", ["page", "jsonl"])
def test_two_workers_give_the_same(county, cluster, form):
    address, _ = cluster
    assert county("lint", "--as", form, "--cluster", address) == county("lint", "--as", form)


def test_a_worker_that_is_killed_with_records_in_its_hands_changes_nothing(county, cluster):
    address, (_, doomed) = cluster
    alone = county("lint", "--as", "lines")
    doomed.send_signal(signal.SIGSTOP)
    command = [*county.command, "lint", "--as", "lines", "--as-of", county.as_of, "--cluster", address]
    environment = county.environment()
    with subprocess.Popen(
        command, cwd=county.folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as run:
        with distributed.Client(address) as client:
            (held,) = (each for each, said in client.scheduler_info()["workers"].items() if said["name"] == "w1")
            until(lambda: client.processing()[held])
        doomed.kill()
        out, err = run.communicate(timeout=_LONGEST)
    assert (run.returncode, out.decode(), err.decode()) == alone


def test_where_no_worker_is_it_is_said(county, cluster):
    address, workers = cluster
    for worker in workers:
        worker.send_signal(signal.SIGTERM)
        worker.wait(_LONGEST)
    status, out, err = county("lint", "--as", "lines", "--cluster", address)
    assert (status, out) == (2, "") and err.startswith(f"cylfile: the scheduler at `{address}` has no worker")
    assert err.count("\n") == 1


def test_where_no_scheduler_is_it_is_said(county):
    status, out, err = county("lint", "--cluster", "tcp://127.0.0.1:9")
    assert (status, out) == (2, "")
    assert (
        err.startswith("cylfile: no scheduler of dask.distributed answers at `tcp://127.0.0.1:9`")
        and err.count("\n") == 1
    )
