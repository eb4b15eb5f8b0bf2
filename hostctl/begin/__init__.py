"""The first hour: from an unknown printer to the first verdict, led at the terminal beside it."""
