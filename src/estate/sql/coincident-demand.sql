-- Demand of all sites in each period [kW]: the sum of the sites with complete readings, and the same with the
-- own maximum of each other site. Periods are the demand period where all sites have one, else the hours of UTC.
WITH period AS (
  SELECT CASE WHEN min(demand_window_min) = max(demand_window_min) THEN max(demand_window_min) ELSE 60.0 END AS minutes,
         min(demand_window_min) = max(demand_window_min) AS is_common
  FROM sites
  WHERE demand_window_min IS NOT NULL
),
known AS (
  SELECT site, max_demand_kw, demand_window_min, supply_meters
  FROM sites
  WHERE max_demand_kw IS NOT NULL AND demand_window_min IS NOT NULL AND supply_meters IS NOT NULL
),
of_site AS (
  SELECT d.site,
         CASE WHEN p.is_common THEN d.start ELSE date_trunc('hour', d.start) END AS period_start,
         sum(d.kw) * max(k.demand_window_min) / max(p.minutes) AS kw,
         max(k.max_demand_kw) AS max_kw
  FROM demand d
  JOIN known k ON k.site = d.site
  CROSS JOIN period p
  WHERE d.of_supply AND (p.is_common OR mod(extract(minute FROM d.start), k.demand_window_min) = 0)
  GROUP BY d.site, CASE WHEN p.is_common THEN d.start ELSE date_trunc('hour', d.start) END
  HAVING count(*) = max(p.minutes / k.demand_window_min * k.supply_meters)
)
SELECT period_start AS start,
       sum(kw) AS kw,
       sum(kw) + ((SELECT sum(max_demand_kw) FROM known) - sum(max_kw)) AS high_kw,
       CAST(count(*) AS DOUBLE) AS sites
FROM of_site
GROUP BY period_start
ORDER BY period_start
