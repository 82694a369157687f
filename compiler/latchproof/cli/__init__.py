"""The command line: one file a command, each thin. The only room that prints and writes files."""
