"""``.ci/run`` takes the test command from the README and installs only what is lacking."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
pytestmark = pytest.mark.skipif(
    os.name != "posix" or not shutil.which("bash") or not shutil.which("awk"), reason="needs bash"
)


class Machine:
    """A folder with the script, a README, and only the commands it is given."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.bin = folder, folder / "bin"
        self.bin.mkdir()
        for name in ("bash", "awk", "dirname", "grep", "id", "env", "cat"):
            (self.bin / name).symlink_to(shutil.which(name))
        (folder / ".ci").mkdir()
        shutil.copy(ROOT / ".ci" / "run", folder / ".ci" / "run")

    def command(self, name: str, script: str) -> None:
        path = self.bin / name
        path.unlink(missing_ok=True)
        path.write_text(f"#!{shutil.which('bash')}\n{script}\n")
        path.chmod(0o755)

    def run(self, readme: str) -> subprocess.CompletedProcess[str]:
        (self.folder / "README.md").write_text(readme)
        return subprocess.run(
            [self.folder / ".ci" / "run"], env={"PATH": str(self.bin)}, cwd="/",
            capture_output=True, text=True, timeout=30,
        )  # fmt: skip


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)


README = """# X
```sh
echo first
```
<!-- tests -->
```sh
echo in $PWD; false || echo second
```
```bat
echo third
```
"""


def test_it_runs_the_block_after_the_mark_in_the_repository(machine: Machine):
    result = machine.run(README)
    assert result.returncode == 0, result.stderr
    assert result.stdout == f"in {machine.folder}\nsecond\n"


def test_it_fails_as_the_tests_fail(machine: Machine):
    assert machine.run(README.replace("echo second", "exit 7")).returncode == 7
    assert machine.run("# no mark\n```sh\necho x\n```\n").returncode == 1


def test_it_installs_only_what_is_lacking(machine: Machine):
    machine.command("id", "echo 0")
    machine.command("apt-get", f'echo "$@" >> {machine.folder}/asked')
    present = ["python3", "python3-venv", "libegl1", "libgl1", "libglib2.0-0t64"]
    lines = "\n".join(f"install ok installed {name} " for name in present)
    machine.command("dpkg-query", f"cat <<'END'\n{lines}\ndeinstall ok config-files xvfb \nEND")
    assert machine.run(README).returncode == 0
    update, install = (machine.folder / "asked").read_text().splitlines()
    assert update.startswith("update")
    named = set(install.split())
    assert {"xvfb", "libxcb-cursor0", "poppler-utils", "fonts-dejavu-core"} <= named
    assert not named & {*present, "libglib2.0-0"}


def test_the_readme_has_a_test_command_and_it_runs_the_tests():
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    start = lines.index("<!-- tests -->")
    assert lines[start + 1].startswith("```")
    assert "pytest" in lines[start + 2]
    assert lines[start + 3] == "```"
