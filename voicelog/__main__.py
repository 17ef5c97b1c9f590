"""`python -m voicelog`."""

from voicelog.cli import main

main()
