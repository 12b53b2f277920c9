"""The console command `refinish`."""
