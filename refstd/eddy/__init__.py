"""What eddy currents do. Pure numpy; knows nothing of the lab."""
