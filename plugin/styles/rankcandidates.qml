<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis labelsEnabled="1" readOnly="0" styleCategories="LayerConfiguration|Symbology|Labeling|Fields|MapTips" version="3.22.16-Białowieża">
 <renderer-v2 attr="verdict" enableorderby="1" forceraster="0" referencescale="-1" symbollevels="0" type="categorizedSymbol">
  <categories>
   <category label="suitable" render="true" symbol="0" value="suitable"/>
   <category label="marginal" render="true" symbol="1" value="marginal"/>
   <category label="unsuitable" render="true" symbol="2" value="unsuitable"/>
   <category label="not assessed" render="true" symbol="3" value="not assessed"/>
  </categories>
  <symbols>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="0" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,234,70,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="circle"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="1" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="diamond"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="190,175,111,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="diamond"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="2" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="45"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="cross_fill"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="45"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="0,32,77,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="cross_fill"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="3.4"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
   <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="3" type="marker">
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,255"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="square"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="255,255,255,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="1.1"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="2.8"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
    <layer class="SimpleMarker" enabled="1" locked="0" pass="0">
     <Option type="Map">
      <Option name="angle" type="QString" value="0"/>
      <Option name="cap_style" type="QString" value="square"/>
      <Option name="color" type="QString" value="255,255,255,60"/>
      <Option name="horizontal_anchor_point" type="QString" value="1"/>
      <Option name="joinstyle" type="QString" value="bevel"/>
      <Option name="name" type="QString" value="square"/>
      <Option name="offset" type="QString" value="0,0"/>
      <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="offset_unit" type="QString" value="MM"/>
      <Option name="outline_color" type="QString" value="20,26,34,255"/>
      <Option name="outline_style" type="QString" value="solid"/>
      <Option name="outline_width" type="QString" value="0.35"/>
      <Option name="outline_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="outline_width_unit" type="QString" value="MM"/>
      <Option name="scale_method" type="QString" value="diameter"/>
      <Option name="size" type="QString" value="2.8"/>
      <Option name="size_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
      <Option name="size_unit" type="QString" value="MM"/>
      <Option name="vertical_anchor_point" type="QString" value="1"/>
     </Option>
    </layer>
   </symbol>
  </symbols>
  <rotation/>
  <sizescale/>
  <orderby>
   <orderByClause asc="0" nullsFirst="1">rank</orderByClause>
  </orderby>
 </renderer-v2>
 <labeling type="simple">
  <settings calloutType="simple">
   <text-style allowHtml="0" blendMode="0" capitalization="0" fieldName="coalesce(&quot;rank&quot; || &#x27;  &#x27;, &#x27;&#x27;) || &quot;site&quot;" fontFamily="Sans Serif" fontItalic="0" fontKerning="1" fontLetterSpacing="0" fontSize="9" fontSizeMapUnitScale="3x:0,0,0,0,0,0" fontSizeUnit="Point" fontStrikeout="0" fontUnderline="0" fontWeight="50" fontWordSpacing="0" isExpression="1" legendString="Aa" multilineHeight="1" namedStyle="" previewBkgrdColor="255,255,255,255" textColor="20,26,34,255" textOpacity="1" textOrientation="horizontal" useSubstitutions="0">
    <families/>
    <text-buffer bufferBlendMode="0" bufferColor="255,255,255,225" bufferDraw="1" bufferJoinStyle="128" bufferNoFill="1" bufferOpacity="1" bufferSize="0.80000000000000004" bufferSizeMapUnitScale="3x:0,0,0,0,0,0" bufferSizeUnits="MM"/>
    <text-mask maskEnabled="0" maskJoinStyle="128" maskOpacity="1" maskSize="1.5" maskSizeMapUnitScale="3x:0,0,0,0,0,0" maskSizeUnits="MM" maskType="0" maskedSymbolLayers=""/>
    <background shapeBlendMode="0" shapeBorderColor="128,128,128,255" shapeBorderWidth="0" shapeBorderWidthMapUnitScale="3x:0,0,0,0,0,0" shapeBorderWidthUnit="MM" shapeDraw="0" shapeFillColor="255,255,255,255" shapeJoinStyle="64" shapeOffsetMapUnitScale="3x:0,0,0,0,0,0" shapeOffsetUnit="MM" shapeOffsetX="0" shapeOffsetY="0" shapeOpacity="1" shapeRadiiMapUnitScale="3x:0,0,0,0,0,0" shapeRadiiUnit="MM" shapeRadiiX="0" shapeRadiiY="0" shapeRotation="0" shapeRotationType="0" shapeSVGFile="" shapeSizeMapUnitScale="3x:0,0,0,0,0,0" shapeSizeType="0" shapeSizeUnit="MM" shapeSizeX="0" shapeSizeY="0" shapeType="0">
     <symbol alpha="1" clip_to_extent="1" force_rhr="0" name="fillSymbol" type="fill">
      <layer class="SimpleFill" enabled="1" locked="0" pass="0">
       <Option type="Map">
        <Option name="border_width_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="color" type="QString" value="255,255,255,255"/>
        <Option name="joinstyle" type="QString" value="bevel"/>
        <Option name="offset" type="QString" value="0,0"/>
        <Option name="offset_map_unit_scale" type="QString" value="3x:0,0,0,0,0,0"/>
        <Option name="offset_unit" type="QString" value="MM"/>
        <Option name="outline_color" type="QString" value="128,128,128,255"/>
        <Option name="outline_style" type="QString" value="no"/>
        <Option name="outline_width" type="QString" value="0"/>
        <Option name="outline_width_unit" type="QString" value="MM"/>
        <Option name="style" type="QString" value="solid"/>
       </Option>
      </layer>
     </symbol>
    </background>
    <shadow shadowBlendMode="6" shadowColor="0,0,0,255" shadowDraw="0" shadowOffsetAngle="135" shadowOffsetDist="1" shadowOffsetGlobal="1" shadowOffsetMapUnitScale="3x:0,0,0,0,0,0" shadowOffsetUnit="MM" shadowOpacity="0.69999999999999996" shadowRadius="1.5" shadowRadiusAlphaOnly="0" shadowRadiusMapUnitScale="3x:0,0,0,0,0,0" shadowRadiusUnit="MM" shadowScale="100" shadowUnder="0"/>
    <substitutions/>
   </text-style>
   <text-format addDirectionSymbol="0" autoWrapLength="0" decimals="3" formatNumbers="0" leftDirectionSymbol="&lt;" multilineAlign="3" placeDirectionSymbol="0" plussign="0" reverseDirectionSymbol="0" rightDirectionSymbol="&gt;" useMaxLineLengthForAutoWrap="1" wrapChar=""/>
   <placement centroidInside="0" centroidWhole="0" dist="0.29999999999999999" distMapUnitScale="3x:0,0,0,0,0,0" distUnits="MM" fitInPolygonOnly="0" geometryGenerator="" geometryGeneratorEnabled="0" geometryGeneratorType="PointGeometry" labelOffsetMapUnitScale="3x:0,0,0,0,0,0" layerType="UnknownGeometry" lineAnchorClipping="0" lineAnchorPercent="0.5" lineAnchorType="0" maxCurvedCharAngleIn="25" maxCurvedCharAngleOut="-25" offsetType="1" offsetUnits="MM" overrunDistance="0" overrunDistanceMapUnitScale="3x:0,0,0,0,0,0" overrunDistanceUnit="MM" placement="6" placementFlags="10" polygonPlacementFlags="2" predefinedPositionOrder="TR,TL,BR,BL,R,L,TSR,BSR" preserveRotation="1" priority="5" quadOffset="4" repeatDistance="0" repeatDistanceMapUnitScale="3x:0,0,0,0,0,0" repeatDistanceUnits="MM" rotationAngle="0" rotationUnit="AngleDegrees" xOffset="0" yOffset="0"/>
   <rendering displayAll="0" drawLabels="1" fontLimitPixelSize="0" fontMaxPixelSize="10000" fontMinPixelSize="0" labelPerPart="0" limitNumLabels="0" maxNumLabels="2000" mergeLines="0" minFeatureSize="0" obstacle="1" obstacleFactor="1" obstacleType="1" scaleMax="0" scaleMin="0" scaleVisibility="0" unplacedVisibility="0" upsidedownLabels="0" zIndex="0"/>
   <dd_properties>
    <Option type="Map">
     <Option name="name" type="QString" value=""/>
     <Option name="properties" type="Map">
      <Option name="Bold" type="Map">
       <Option name="active" type="bool" value="true"/>
       <Option name="expression" type="QString" value="&quot;verdict&quot; = &#x27;suitable&#x27;"/>
       <Option name="type" type="int" value="3"/>
      </Option>
      <Option name="Priority" type="Map">
       <Option name="active" type="bool" value="true"/>
       <Option name="expression" type="QString" value="greatest(0, 10 - coalesce(&quot;rank&quot;, 10) / 2)"/>
       <Option name="type" type="int" value="3"/>
      </Option>
     </Option>
     <Option name="type" type="QString" value="collection"/>
    </Option>
   </dd_properties>
  </settings>
 </labeling>
 <blendMode>0</blendMode>
 <featureBlendMode>0</featureBlendMode>
 <aliases>
  <alias field="site" index="0" name="Site"/>
  <alias field="rank" index="1" name="Rank (1 is best; equals share it)"/>
  <alias field="score" index="2" name="Score (0 to 100)"/>
  <alias field="verdict" index="3" name="Verdict"/>
  <alias field="limit_by" index="4" name="Limited by"/>
  <alias field="advice" index="5" name="Advice"/>
  <alias field="quality" index="6" name="Mean quality of the bins that count"/>
  <alias field="az_span" index="7" name="Azimuth span that counts [°]"/>
  <alias field="el_from" index="8" name="Lowest angle that counts [°]"/>
  <alias field="el_to" index="9" name="Highest angle that counts [°]"/>
  <alias field="h_low_m" index="10" name="Height over the lowest level [m]"/>
  <alias field="h_high_m" index="11" name="Height over the highest level [m]"/>
  <alias field="res_m" index="12" name="Separation of the best bin [m]"/>
  <alias field="height_cm" index="13" name="Precision of a value [cm; soil moisture: °]"/>
  <alias field="arc_cm" index="14" name="Median error of an arc [cm; soil moisture: °]"/>
  <alias field="noise_cm" index="15" name="Part of it that is noise [cm; soil moisture: °]"/>
  <alias field="bend_cm" index="16" name="Height too small by bending if uncorrected [cm]"/>
  <alias field="busy" index="17" name="Share of the time in which the arcs are spoiled"/>
  <alias field="arcs_day" index="18" name="Arcs of the worst day"/>
  <alias field="gap_h" index="19" name="Longest time between arcs [h]"/>
  <alias field="int_max_s" index="20" name="Longest interval that resolves every arc [s]"/>
  <alias field="int_rec_s" index="21" name="Recommended interval [s]"/>
  <alias field="tide_err_m" index="22" name="Shift of single arcs by the tide, at most [m]"/>
  <alias field="rank_lo" index="23" name="Best rank in 90 % of the worlds drawn"/>
  <alias field="rank_hi" index="24" name="Worst rank in 90 % of the worlds drawn"/>
  <alias field="p_best" index="25" name="Share of the worlds drawn in which it is the best"/>
 </aliases>
 <previewExpression>coalesce("rank" || '. ', '') || "site"</previewExpression>
 <mapTip>&lt;b&gt;[% coalesce("rank" || '. ', '') || "site" %]&lt;/b&gt;: [% "verdict" %][% coalesce(', score ' || round("score"), '') %][% CASE WHEN "arcs_day" &gt; 0 THEN ', ' || format_number("height_cm", CASE WHEN "height_cm" &lt; 9.95 THEN 1 ELSE 0 END) || CASE WHEN "bend_cm" IS NULL THEN '°' ELSE ' cm' END ELSE '' END %]&lt;br&gt;[% "advice" %]&lt;br&gt;&lt;i&gt;[% CASE WHEN coalesce("limit_by", '') &lt;&gt; '' THEN 'limited by ' || "limit_by" ELSE '' END %]&lt;/i&gt;</mapTip>
 <layerGeometryType>0</layerGeometryType>
</qgis>
