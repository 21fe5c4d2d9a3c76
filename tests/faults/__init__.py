"""What can go wrong with files, disks, processes and terminals, made to happen: scripts, and a small share in CI."""
