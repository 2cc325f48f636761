"""`python -m firstsheet` is the `firstsheet` command."""

from firstsheet.cli.main import run

if __name__ == "__main__":
    run()
