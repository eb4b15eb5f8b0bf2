"""Why a run stands still, and how it goes on."""
