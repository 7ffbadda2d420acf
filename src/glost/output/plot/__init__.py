"""A collection as a chart: silica against alumina where the fluxes are taken as 1. Pure: text out of data."""
