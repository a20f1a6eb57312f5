"""The technician's screens: kit, response check, lots, jobs and setups."""
