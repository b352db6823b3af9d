"""Runs the cases and counts what survived."""

import importlib
import pathlib
import shutil
import sys
import tempfile
import time
import traceback

from kit import Fault, Skipped

PARTS = ["damaged", "huge", "folder", "disk", "text", "versions", "interrupted"]


def clean(text):
    """The program's line with what belongs to this run alone taken out."""
    return " ".join(str(text).split())[:200]


def main():
    parts = sys.argv[1:] or PARTS
    survived, failed, skipped = 0, 0, 0
    began = time.monotonic()
    for part in parts:
        module = importlib.import_module(part)
        for what, case in module.CASES:
            work = pathlib.Path(tempfile.mkdtemp(prefix="faults-"))
            work.chmod(0o755)
            try:
                code, line = case(work)
                survived += 1
                print(f"survived | {what} | {code} | {clean(line.replace(str(work), '…'))}", flush=True)
            except Skipped as why:
                skipped += 1
                print(f"skipped  | {what} | | {why}", flush=True)
            except Fault as why:
                failed += 1
                print(f"FAILED   | {what} | | {clean(why)}", flush=True)
            except Exception:  # a case that breaks has shown nothing
                failed += 1
                print(f"FAILED   | {what} | | {clean(traceback.format_exc()[-400:])}", flush=True)
            finally:
                shutil.rmtree(work, ignore_errors=True)
    print(f"\n{time.monotonic() - began:.0f} seconds; {skipped} skipped")
    print(f"{survived} survived of {survived + failed}")
    print(f"{survived} passed, {failed} failed")
    return 1 if failed or not survived else 0


if __name__ == "__main__":
    sys.exit(main())
