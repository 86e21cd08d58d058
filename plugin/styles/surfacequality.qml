<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis labelsEnabled="0" readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <renderer-v2 attr="quality" enableorderby="1" forceraster="0" graduatedMethod="GraduatedColor" referencescale="-1" symbollevels="0" type="graduatedSymbol">
  <ranges>
   <range label="no window of good angles" lower="0.000000000000000" render="true" symbol="0" upper="0.000000000000000"/>
   <range label="quality 0 to 0.2" lower="0.000000000000000" render="true" symbol="1" upper="0.200000000000000"/>
   <range label="quality 0.2 to 0.4" lower="0.200000000000000" render="true" symbol="2" upper="0.400000000000000"/>
   <range label="quality 0.4 to 0.6" lower="0.400000000000000" render="true" symbol="3" upper="0.600000000000000"/>
   <range label="quality 0.6 to 0.8" lower="0.600000000000000" render="true" symbol="4" upper="0.800000000000000"/>
   <range label="quality 0.8 to 1" lower="0.800000000000000" render="true" symbol="5" upper="1.000000000000000"/>
  </ranges>
  <symbols>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="0" type="fill">
    <layer class="LinePatternFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="45"/>
      <Option name="color" type="QString" value="0,0,0,255"/>
      <Option name="distance" type="QString" value="1.8"/>
      <Option name="distance_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="distance_unit" type="QString" value="MM"/>
      <Option name="line_width" type="QString" value="0"/>
      <Option name="line_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="line_width_unit" type="QString" value="MM"/>
      <Option name="offset" type="QString" value="0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
     </Option>
     <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="@0@0" type="line">
      <layer class="SimpleLine" enabled="1" locked="0" pass="0">
       <Option type="Map">
        <Option name="align_dash_pattern" type="QString" value="0"/>
        <Option name="capstyle" type="QString" value="square"/>
        <Option name="customdash" type="QString" value="5;2"/>
        <Option name="customdash_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="customdash_unit" type="QString" value="MM"/>
        <Option name="dash_pattern_offset" type="QString" value="0"/>
        <Option name="dash_pattern_offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="dash_pattern_offset_unit" type="QString" value="MM"/>
        <Option name="draw_inside_polygon" type="QString" value="0"/>
        <Option name="joinstyle" type="QString" value="bevel"/>
        <Option name="line_color" type="QString" value="255,255,255,185"/>
        <Option name="line_style" type="QString" value="solid"/>
        <Option name="line_width" type="QString" value="0.16"/>
        <Option name="line_width_unit" type="QString" value="MM"/>
        <Option name="offset" type="QString" value="0"/>
        <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="offset_unit" type="QString" value="MM"/>
        <Option name="ring_filter" type="QString" value="0"/>
        <Option name="trim_distance_end" type="QString" value="0"/>
        <Option name="trim_distance_end_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="trim_distance_end_unit" type="QString" value="MM"/>
        <Option name="trim_distance_start" type="QString" value="0"/>
        <Option name="trim_distance_start_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="trim_distance_start_unit" type="QString" value="MM"/>
        <Option name="tweak_dash_pattern_on_corners" type="QString" value="0"/>
        <Option name="use_custom_dash" type="QString" value="0"/>
        <Option name="width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
       </Option>
      </layer>
      <layer class="SimpleLine" enabled="1" locked="0" pass="0">
       <Option type="Map">
        <Option name="align_dash_pattern" type="QString" value="0"/>
        <Option name="capstyle" type="QString" value="square"/>
        <Option name="customdash" type="QString" value="5;2"/>
        <Option name="customdash_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="customdash_unit" type="QString" value="MM"/>
        <Option name="dash_pattern_offset" type="QString" value="0"/>
        <Option name="dash_pattern_offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="dash_pattern_offset_unit" type="QString" value="MM"/>
        <Option name="draw_inside_polygon" type="QString" value="0"/>
        <Option name="joinstyle" type="QString" value="bevel"/>
        <Option name="line_color" type="QString" value="20,26,34,120"/>
        <Option name="line_style" type="QString" value="solid"/>
        <Option name="line_width" type="QString" value="0.16"/>
        <Option name="line_width_unit" type="QString" value="MM"/>
        <Option name="offset" type="QString" value="0.16"/>
        <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="offset_unit" type="QString" value="MM"/>
        <Option name="ring_filter" type="QString" value="0"/>
        <Option name="trim_distance_end" type="QString" value="0"/>
        <Option name="trim_distance_end_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="trim_distance_end_unit" type="QString" value="MM"/>
        <Option name="trim_distance_start" type="QString" value="0"/>
        <Option name="trim_distance_start_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="trim_distance_start_unit" type="QString" value="MM"/>
        <Option name="tweak_dash_pattern_on_corners" type="QString" value="0"/>
        <Option name="use_custom_dash" type="QString" value="0"/>
        <Option name="width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
       </Option>
      </layer>
     </symbol>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="1" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="0,32,77,150"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,80"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.08"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="2" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="65,77,107,150"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,80"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.08"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="3" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="125,124,120,150"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,80"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.08"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="4" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="190,175,111,150"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,80"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.08"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="5" type="fill">
    <layer class="SimpleFill" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="color" type="QString" value="255,234,70,150"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,80"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.08"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="style" type="QString" value="solid"/>
     </Option>
    </layer>
   </symbol>
  </symbols>
  <classificationMethod id="Custom">
   <symmetricMode astride="0" enabled="0" symmetrypoint="0"/>
   <labelFormat format="%1 - %2" labelprecision="4" trimtrailingzeroes="1"/>
   <parameters>
    <Option/>
   </parameters>
   <extraInformation/>
  </classificationMethod>
  <rotation/>
  <sizescale/>
  <orderby>
   <orderByClause asc="1" nullsFirst="0">quality</orderByClause>
  </orderby>
 </renderer-v2>
 <blendMode>0</blendMode>
 <featureBlendMode>0</featureBlendMode>
 <aliases>
  <alias field="site" index="0" name="Site"/>
  <alias field="az_deg" index="1" name="Azimuth [°]"/>
  <alias field="quality" index="2" name="Quality"/>
  <alias field="el_from" index="3" name="Window from [°]"/>
  <alias field="el_to" index="4" name="Window to [°]"/>
  <alias field="target" index="5" name="Target share"/>
  <alias field="avoid" index="6" name="Share to avoid"/>
  <alias field="hidden" index="7" name="Hidden share"/>
  <alias field="unknown" index="8" name="Unknown share"/>
  <alias field="usable" index="9" name="Usable share"/>
  <alias field="busy" index="10" name="Share of the time in which the window is spoiled"/>
  <alias field="near_m" index="11" name="Ground from [m]"/>
  <alias field="far_m" index="12" name="Ground to [m]"/>
  <alias field="height_m" index="13" name="Least height over the surface [m]"/>
  <alias field="reason" index="14" name="What spoils it"/>
 </aliases>
 <previewExpression>"site" || ', ' || round("az_deg", 1) || '°'</previewExpression>
 <mapTip>&lt;b&gt;[% "site" %]&lt;/b&gt;, azimuth [% round("az_deg", 1) %]°&lt;br&gt;[% CASE WHEN "el_from" IS NULL THEN 'no window of good elevation angles' ELSE 'good from ' || round("el_from", 1) || ' to ' || round("el_to", 1) || '°, quality ' || format_number("quality", 2) || ', ground from ' || round("near_m") || ' to ' || round("far_m") || ' m' || CASE WHEN "busy" &gt; 0 THEN ', spoiled ' || round(100 * "busy") || ' % of the time' ELSE '' END END %]&lt;br&gt;&lt;i&gt;[% coalesce("reason", '') %]&lt;/i&gt;</mapTip>
 <layerGeometryType>2</layerGeometryType>
</qgis>
