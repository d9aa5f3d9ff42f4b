-- Energy of the supplies by month of UTC and group [kWh].
SELECT s.group, extract(year FROM i.start) AS year, extract(month FROM i.start) AS month_of_year,
       sum(i.energy_import_kwh) AS energy_import_kwh, sum(i.energy_export_kwh) AS energy_export_kwh
FROM intervals i
JOIN meters m ON m.site = i.site AND m.meter = i.meter
JOIN sites s ON s.site = i.site
WHERE m.of_supply
GROUP BY s.group, extract(year FROM i.start), extract(month FROM i.start)
ORDER BY 1, 2, 3
