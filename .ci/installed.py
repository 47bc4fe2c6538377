"""Walks a sample car in a terminal of its own, in a root folder without Rust: installed.py ROOT PROGRAM CAR.

Prints what was typed and how long it took; the exit status is 1 where the screen or the record is not as expected.
"""

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time

root, program, car = sys.argv[1:4]
inside = ["chroot", root, "env", "-i", "HOME=/home/owner", "TERM=xterm-256color", "LC_ALL=C.UTF-8", "PATH=/usr/local/bin:/usr/bin:/bin"]
faults = []


def run(*arguments):
    out = subprocess.run([*inside, program, *arguments], capture_output=True, text=True)
    print(f"$ linewalk {' '.join(arguments)}   (exit status {out.returncode})")
    if out.returncode > 1:
        faults.append(f"{arguments}: {out.stderr}")
    return out.stdout


def walk(steps):
    """Types each key once the screen shows the text before it, then q until the program has ended."""
    process, terminal = pty.fork()
    if process == 0:
        os.execvp(inside[0], [*inside, program, "walk", car, "--by", "R.N.", "--profile", "scales-short"])
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    seen = b""

    def read(seconds):
        nonlocal seen
        if select.select([terminal], [], [], seconds)[0]:
            try:
                seen += os.read(terminal, 65536)
            except OSError:
                time.sleep(0.1)

    for text, key in steps:
        until = time.time() + 60
        while text not in seen and time.time() < until:
            read(0.2)
        if text not in seen:
            faults.append(f"{text!r} was not shown: {seen[-1500:]!r}")
            break
        # What a key does is seen after it, not before.
        seen = b""
        os.write(terminal, key)
    until = time.time() + 60
    while not os.waitpid(process, os.WNOHANG)[0]:
        read(1.0)
        try:
            os.write(terminal, b"q")
        except OSError:
            pass
        if time.time() > until:
            faults.append(f"the program did not end after q: {seen[-1500:]!r}")
            os.kill(process, 9)
            break


began = time.time()
os.makedirs(f"{root}/home/owner", exist_ok=True)
run("--version")
walk([(b"Start at", b"\r"), (b"NS01", b"a"), (b"Kept:", b"q")])
run("numbers", car)
run("report", car, "--format", "pdf", "-o", "/home/owner/report.pdf")
with open(f"{root}/home/owner/report.pdf", "rb") as pdf:
    if not pdf.read().startswith(b"%PDF-"):
        faults.append("the report is no PDF")
verdict = run("log", "verify", "heron")
if "The log verifies: 2 records" not in verdict:
    faults.append(f"the log does not hold the answer: {verdict}")
print(f"in {time.time() - began:.1f} s")
print("\n".join(faults) or "installed: as expected")
sys.exit(bool(faults))
