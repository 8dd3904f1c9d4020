"""The class: learners follow the board on their phones, over the local network and nothing else."""
