"""Let `python -m bench` do what the command `tiltbook` does."""

from bench.cli import main

if __name__ == "__main__":
    main(prog_name="tiltbook")
