"""The invented shop: its toners, colours, product sheets and vehicles (data files), and everyone's own job."""
