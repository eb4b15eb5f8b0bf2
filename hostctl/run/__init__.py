"""The study carried out: schedule, cycle, prompts, holds, resuming."""
