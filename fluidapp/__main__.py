"""``python -m fluidapp`` does what the command ``fluidapp`` does."""

from fluidapp.cli import main

if __name__ == "__main__":
    main(prog_name="fluidapp")
